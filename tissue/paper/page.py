"""A page of print in mm from the upper left corner: text, lines, areas, hatches; the same bytes for the same input."""

import io
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files
from threading import Lock
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfdoc, pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from tissue.ground.errors import EyeError
from tissue.report.measures import STANDING_LINE

FONTS = {
    "sans": "PaperSans-Regular",
    "bold": "PaperSans-Bold",
    "serif": "PaperSerif-Semibold",
    "italic": "PaperSerif-Italic",
}
FONTS_READ = Lock()  # the library reads a font by one place in its file, which all documents of this process share
WIDTH_MM, HEIGHT_MM = A4[0] / mm, A4[1] / mm
LEFT_MM, RIGHT_MM, FOOT_MM = 14.0, WIDTH_MM - 14.0, HEIGHT_MM - 13.0
DASHES: dict[str, tuple[float, ...]] = {
    "solid": (),
    "dotted": (0.9, 1.3),
    "dashed": (3.2, 1.6),
    "dash-dotted": (3.2, 1.6, 0.9, 1.6),
    "longdashdot": (6.0, 1.8, 1.0, 1.8),
}
HATCHES = {"/": (1.0, 1.15, 0.55), "\\": (-1.0, 2.2, 0.3)}  # slope, pitch [mm], line [pt]
DOT_RADIUS_MM, DOT_PITCH_MM = 0.13, 0.95


def register_fonts() -> None:
    """Register the fonts once."""
    known = pdfmetrics.getRegisteredFontNames()
    folder = files("tissue") / "data" / "fonts"
    for name in FONTS.values():
        if name not in known:
            pdfmetrics.registerFont(TTFont(name, io.BytesIO((folder / f"{name}.ttf").read_bytes())))


def require_letters(text: str, font: str) -> None:
    """Raise EyeError for a letter that a font lacks, named with its text."""
    known = pdfmetrics.getFont(FONTS[font]).face.charToGlyph
    missing = [one for one in text if ord(one) not in known]
    if missing:
        accepted = f"letters that the print has; it has none for {missing[0]} (U+{ord(missing[0]):04X})"
        raise EyeError("a text of the page", next(word for word in text.split() if missing[0] in word), accepted)


def text_width_mm(text: str, size_pt: float, font: str = "sans") -> float:
    """Width of a text on paper [mm]."""
    register_fonts()
    return pdfmetrics.stringWidth(text, FONTS[font], size_pt) / mm


def wrap(text: str, width_mm: float, size_pt: float, font: str = "sans") -> list[str]:
    """Lines of a text that fit a width [mm]; a no-break space holds its words together."""
    lines, line = [], ""
    for word in (one.replace("\u00a0", " ") for one in re.split(r"[ \t\n]+", text.strip())):
        longer = f"{line} {word}".strip()
        if line and text_width_mm(longer, size_pt, font) > width_mm:
            lines.append(line)
            longer = word
        line = longer
    return [*lines, line]


def undated_canvas(buffer: io.BytesIO, size_pt: tuple[float, float], font: str, **more: Any) -> Canvas:
    """A canvas that says the same date whenever and wherever it is filled.

    The library would take one from the environment, where builds of software set it, or fall over what stands there.
    """
    os.environ.pop("SOURCE_DATE_EPOCH", None)
    return Canvas(buffer, pagesize=size_pt, invariant=1, initialFontName=font, **more)


class Paper:
    """An A4 document in progress; `finish` gives its bytes.

    Args:
        title: title of the document.
        standing: the caution at the foot of every page.
    """

    def __init__(self, title: str, standing: str = STANDING_LINE) -> None:
        register_fonts()
        self.buffer = io.BytesIO()
        # without a font of the reader's: none is listed that is not embedded
        self.canvas = undated_canvas(self.buffer, A4, FONTS["sans"], pageCompression=1)
        self.canvas.setTitle(title)
        self.canvas.setCreator("tissue")
        self.standing = standing
        self.attached: dict = {}

    def _y(self, y_mm: float) -> float:
        return (HEIGHT_MM - y_mm) * mm

    def text(
        self,
        x_mm: float,
        y_mm: float,
        text: str,
        size_pt: float = 8.6,
        font: str = "sans",
        align: str = "left",
        *,
        grey: float = 0.0,
    ) -> None:
        """Text with its base line at y; align left, right or centre.

        Raises:
            EyeError: the font lacks a letter, which would be an empty box on the page.
        """
        require_letters(text, font)
        draw = {
            "left": self.canvas.drawString,
            "right": self.canvas.drawRightString,
            "centre": self.canvas.drawCentredString,
        }
        self.canvas.setFillGray(grey)
        self.canvas.setFont(FONTS[font], size_pt)
        draw[align](x_mm * mm, self._y(y_mm), text)

    def line(
        self,
        x_mm: ArrayLike,
        y_mm: ArrayLike,
        width_pt: float = 0.5,
        dash: str = "solid",
        grey: float = 0.0,
    ) -> None:
        """A line through points [mm]."""
        self.canvas.setStrokeGray(grey)
        self.canvas.setLineWidth(width_pt)
        self.canvas.setDash(list(DASHES[dash]), 0)
        self.canvas.drawPath(self._path(x_mm, y_mm), stroke=1, fill=0)
        self.canvas.setDash([], 0)

    def _path(self, x_mm: ArrayLike, y_mm: ArrayLike, closed: bool = False) -> Any:
        path = self.canvas.beginPath()
        points = list(zip(np.asarray(x_mm, dtype=float), np.asarray(y_mm, dtype=float), strict=True))
        path.moveTo(points[0][0] * mm, self._y(points[0][1]))
        for x, y in points[1:]:
            path.lineTo(x * mm, self._y(y))
        if closed:
            path.close()
        return path

    def area(self, x_mm: ArrayLike, y_mm: ArrayLike, grey: float, hatch: str | None = None) -> None:
        """A filled polygon [mm] with a hatch: `/`, `\\` or `.`."""
        self.canvas.setFillGray(grey)
        self.canvas.drawPath(self._path(x_mm, y_mm, closed=True), stroke=0, fill=1)
        if hatch:
            with self.clipped(x_mm, y_mm):
                self._hatch(np.min(x_mm), np.max(x_mm), np.min(y_mm), np.max(y_mm), hatch)

    @contextmanager
    def clipped(self, x_mm: ArrayLike, y_mm: ArrayLike) -> Iterator[None]:
        """Drawing inside a polygon only [mm]."""
        self.canvas.saveState()
        self.canvas.clipPath(self._path(x_mm, y_mm, closed=True), stroke=0, fill=0)
        yield
        self.canvas.restoreState()

    def _hatch(self, left: float, right: float, top: float, bottom: float, hatch: str) -> None:
        """Hatch lines or dots over a box, on one raster for the whole page."""
        if hatch == ".":
            return self._dots(left, right, top, bottom)
        slope, pitch, width = HATCHES[hatch]
        height = bottom - top
        for start in np.arange(np.floor((left - height) / pitch), (right + height) / pitch + 1) * pitch:
            offset = (top * slope) % pitch
            x = np.array([start - offset, start - offset + height])
            self.line(x, [bottom, top] if slope > 0 else [top, bottom], width, grey=0.15)

    def _dots(self, left: float, right: float, top: float, bottom: float) -> None:
        """Rows of dots, every second row shifted, drawn as round-capped dashes without length."""
        self.canvas.saveState()
        self.canvas.setStrokeGray(0.25)
        self.canvas.setLineCap(1)
        self.canvas.setLineWidth(2.0 * DOT_RADIUS_MM * mm)
        self.canvas.setDash([0, DOT_PITCH_MM * mm], 0)
        for row in np.arange(np.floor(top / DOT_PITCH_MM), bottom / DOT_PITCH_MM + 1):
            start = np.floor(left / DOT_PITCH_MM) * DOT_PITCH_MM - (row % 2) * DOT_PITCH_MM / 2.0
            y = self._y(row * DOT_PITCH_MM)
            self.canvas.line(start * mm, y, right * mm, y)
        self.canvas.restoreState()

    def circle(
        self, x_mm: float, y_mm: float, radius_mm: float, width_pt: float = 0.5, fill_grey: float | None = None
    ) -> None:
        """A circle, filled where a grey is given."""
        self.canvas.setLineWidth(width_pt)
        self.canvas.setStrokeGray(0.0)
        if fill_grey is not None:
            self.canvas.setFillGray(fill_grey)
        filled = int(fill_grey is not None)
        self.canvas.circle(x_mm * mm, self._y(y_mm), radius_mm * mm, stroke=int(width_pt > 0), fill=filled)

    def box(self, x_mm: float, y_mm: float, size_mm: float = 2.6) -> None:
        """An empty square to tick, its lower left corner at (x, y)."""
        x, y = [x_mm, x_mm + size_mm, x_mm + size_mm, x_mm, x_mm], [y_mm, y_mm, y_mm - size_mm, y_mm - size_mm, y_mm]
        self.line(x, y, 0.6)

    def image(self, x_mm: float, y_mm: float, width_mm: float, height_mm: float, png: bytes) -> None:
        """A picture by its upper left corner [mm], from the bytes of a PNG."""
        place = x_mm * mm, self._y(y_mm + height_mm), width_mm * mm, height_mm * mm
        self.canvas.drawImage(ImageReader(io.BytesIO(png)), *place)

    def attach(self, name: str, data: bytes) -> None:
        """A file inside the document, such as the plan that a page was made from."""
        document = self.canvas._doc
        stream = pdfdoc.PDFStream(pdfdoc.PDFDictionary({"Type": pdfdoc.PDFName("EmbeddedFile")}), data)
        stream.filters = []
        held = document.Reference(stream)
        spec = {"Type": pdfdoc.PDFName("Filespec"), "F": pdfdoc.PDFString(name), "UF": pdfdoc.PDFString(name)}
        spec["EF"] = pdfdoc.PDFDictionary({"F": held})
        self.attached[name] = document.Reference(pdfdoc.PDFDictionary(spec))
        in_order = [part for key, where in sorted(self.attached.items()) for part in (pdfdoc.PDFString(key), where)]
        names = pdfdoc.PDFArray(in_order)
        tree = pdfdoc.PDFDictionary({"EmbeddedFiles": pdfdoc.PDFDictionary({"Names": names})})
        document.Catalog.Names = tree

    def close_page(self) -> None:
        """End a page with the standing line."""
        self.line([LEFT_MM, RIGHT_MM], [FOOT_MM, FOOT_MM], 0.5)
        lines = wrap(self.standing, RIGHT_MM - LEFT_MM - 20.0, 8.0)
        for i, words in enumerate(lines):
            self.text(WIDTH_MM / 2.0, FOOT_MM + 3.6 + 3.3 * i, words, 8.0, align="centre")
        self.canvas.showPage()

    def finish(self) -> bytes:
        """The bytes of the document."""
        with FONTS_READ:
            self.canvas.save()
        return self.buffer.getvalue()
