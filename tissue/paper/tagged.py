"""A page that can be read aloud: every piece of content has a role and an order, and pictures have words.

Source: PDF 32000-1, 14.7 (logical structure) and 14.8 (tagged PDF).
"""

from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from typing import Any

from reportlab.lib.units import mm
from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFString

from tissue.paper.page import FOOT_MM, LEFT_MM, RIGHT_MM, WIDTH_MM, Paper, wrap

OF_A_TAGGED_PAGE = ("StructParents", "Tabs")  # page entries that the library does not know


class Tagged(Paper):
    """A Paper of one page with a structure; what is drawn outside every element is decoration.

    Args:
        title: title of the document.
        standing: the caution at the foot.
        language: tag of the language, such as `en`.
        foot_pt: size of the words at the foot.
    """

    def __init__(self, title: str, standing: str, language: str, foot_pt: float = 9.0) -> None:
        super().__init__(title, standing)
        self.foot_pt = foot_pt
        self.document = self.canvas._doc
        self.document.Catalog.Lang = PDFString(language)
        self.document.Catalog.MarkInfo = PDFDictionary({"Marked": "true"})
        self.canvas.setViewerPreference("DisplayDocTitle", "true")
        self.root = PDFDictionary({"Type": PDFName("StructTreeRoot")})
        self.document.Catalog.StructTreeRoot = self.root
        self.made = [_Element(self.root, self.document)]
        self.inside, self.open = self.made[:], False
        self.marked: list[_Element] = []
        self.inside.append(self._element("Document", {}))

    @contextmanager
    def group(self, role: str, **entries: Any) -> Iterator[None]:
        """An element that holds other elements, such as a table or its rows.

        Args:
            role: its standard structure type.
            entries: further entries of the element.
        """
        made = self._element(role, entries)
        self.inside.append(made)
        yield
        self.inside.pop()

    @contextmanager
    def element(self, role: str, **entries: Any) -> Iterator[None]:
        """An element of content: what is drawn inside is read aloud in its place.

        Args:
            role: its standard structure type.
            entries: further entries of the element.
        """
        made = self._element(role, entries)
        made.kids.append(len(self.marked))
        self.canvas._code.append(f"/{role} <</MCID {len(self.marked)}>> BDC")
        self.marked.append(made)
        self.open = True
        yield
        self.open = False
        self.canvas._code.append("EMC")

    def figure(
        self, alternative: str, left: float, top: float, right: float, bottom: float
    ) -> AbstractContextManager[None]:
        """An element that is a picture with its words; its box [mm from the upper left]."""
        box = [left * mm, self._y(bottom), right * mm, self._y(top)]
        layout = PDFDictionary({"O": PDFName("Layout"), "BBox": PDFArray([round(value, 2) for value in box])})
        return self.element("Figure", Alt=PDFString(alternative), A=layout)

    def cell(self, role: str, scope: str = "", span: int = 1) -> AbstractContextManager[None]:
        """A cell of a table: `TH` with its scope, `Column` or `Row`, or `TD`; over so many columns."""
        table = {"O": PDFName("Table")} | ({"Scope": PDFName(scope)} if scope else {})
        table |= {"ColSpan": span} if span > 1 else {}
        return self.element(role, **({"A": PDFDictionary(table)} if len(table) > 1 else {}))

    def _element(self, role: str, entries: dict[str, Any]) -> "_Element":
        held = PDFDictionary({"Type": PDFName("StructElem"), "S": PDFName(role), **entries})
        made, parent = _Element(held, self.document), self.inside[-1]
        held["P"] = parent.reference
        parent.kids.append(made.reference)
        self.made.append(made)
        return made

    @contextmanager
    def _decoration(self) -> Iterator[None]:
        """What is drawn outside of every element."""
        if self.open:
            yield
            return
        self.canvas._code.append("/Artifact BMC")
        self.open = True
        yield
        self.open = False
        self.canvas._code.append("EMC")

    def text(self, *arguments: Any, **named: Any) -> None:
        """As for a Paper; every text is read aloud, so it must be drawn in an element.

        Raises:
            ValueError: it is not.
        """
        if not self.open:
            raise ValueError(f"a text in no element: {arguments[2]!r}")
        super().text(*arguments, **named)

    def line(self, *arguments: Any, **named: Any) -> None:
        """The same as of a Paper; it is decoration, and not read aloud."""
        with self._decoration():
            super().line(*arguments, **named)

    def area(self, *arguments: Any, **named: Any) -> None:
        """The same as of a Paper; it is decoration, and not read aloud."""
        with self._decoration():
            super().area(*arguments, **named)

    def close_page(self) -> None:
        """End the page with the standing line."""
        self.line([LEFT_MM, RIGHT_MM], [FOOT_MM, FOOT_MM], 0.5)
        with self.element("P"):
            for i, words in enumerate(wrap(self.standing, RIGHT_MM - LEFT_MM, self.foot_pt)):
                self.text(WIDTH_MM / 2.0, FOOT_MM + 4.0 + 3.7 * i, words, self.foot_pt, align="centre")
        self.canvas.showPage()
        page = self.document.Pages[0]
        page.__NoDefault__ = [*page.__NoDefault__, *OF_A_TAGGED_PAGE]
        page.StructParents, page.Tabs = 0, PDFName("S")
        self._close_structure(self.document.Reference(page))

    def _close_structure(self, page: Any) -> None:
        """Write the tree of elements, and to which element each piece of content belongs."""
        for made in self.made:
            made.held["K"] = PDFArray(made.kids)
        for made in self.marked:
            made.held["Pg"] = page
        numbers = PDFArray([0, PDFArray([made.reference for made in self.marked])])
        self.root["ParentTree"] = self.document.Reference(PDFDictionary({"Nums": numbers}))
        self.root["ParentTreeNextKey"] = 1


class _Element:
    """An open element: its dictionary, the reference to it, and its contents in order."""

    def __init__(self, held: Any, document: Any) -> None:
        self.held, self.reference = held, document.Reference(held)
        self.kids: list[Any] = []
