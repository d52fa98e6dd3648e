"""Three inks for one drawing in mm from the upper left corner: PDF, SVG with its font in it, PNG at 600 dpi."""

import base64
import io
from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from functools import cache
from importlib.resources import files
from typing import Any
from xml.sax.saxutils import escape

import numpy as np
from reportlab.lib.units import mm

from tissue.paper.page import FONTS, FONTS_READ, register_fonts, text_width_mm, undated_canvas

DPI = 600
MM_PER_INCH = 25.4
Points = Sequence[tuple[float, float]]
DASHES = {"solid": (), "dot": (1.0, 1.6), "dash": (3.0, 1.8), "longdashdot": (5.0, 1.5, 1.0, 1.5)}  # widths of the line
FONT = "sans"


class Ink(ABC):
    """A drawing in progress; `finish` gives its bytes, always the same for the same drawing.

    Args:
        width_mm, height_mm: of the drawing, on white.
        title: of the document, which also serves as its alternative text.
    """

    def __init__(self, width_mm: float, height_mm: float, title: str) -> None:
        self.width_mm, self.height_mm, self.title = width_mm, height_mm, title

    @abstractmethod
    def line(self, points: Points, colour: str, width_mm: float, dash: str = "solid") -> None:
        """A line through points; dash one of DASHES."""

    @abstractmethod
    def area(self, points: Points, colour: str) -> None:
        """A filled polygon."""

    @abstractmethod
    def text(self, x: float, y: float, text: str, size_mm: float, colour: str) -> None:
        """Words that begin at x on the base line y."""

    @abstractmethod
    def finish(self) -> bytes:
        """The bytes of the drawing."""

    def width_of(self, text: str, size_mm: float) -> float:
        """Width of a text [mm]."""
        return text_width_mm(text, size_mm / MM_PER_INCH * 72.0, FONT)


class Pdf(Ink):
    """Vectors with the font embedded."""

    def __init__(self, width_mm: float, height_mm: float, title: str) -> None:
        super().__init__(width_mm, height_mm, title)
        register_fonts()
        self.buffer = io.BytesIO()
        # list only embedded fonts, none that the reader would have to supply
        self.canvas: Any = undated_canvas(self.buffer, (width_mm * mm, height_mm * mm), FONTS[FONT])
        self.canvas.setTitle(title)
        self.canvas.setCreator("tissue")

    def _path(self, points: Points) -> Any:
        path = self.canvas.beginPath()
        (x, y), *others = points
        path.moveTo(x * mm, (self.height_mm - y) * mm)
        for x, y in others:
            path.lineTo(x * mm, (self.height_mm - y) * mm)
        return path

    def line(self, points: Sequence[tuple[float, float]], colour: str, width_mm: float, dash: str = "solid") -> None:
        self.canvas.setStrokeColor(colour)
        self.canvas.setLineWidth(width_mm * mm)
        self.canvas.setDash([part * width_mm * mm for part in DASHES[dash]], 0)
        self.canvas.drawPath(self._path(points), stroke=1, fill=0)

    def area(self, points: Sequence[tuple[float, float]], colour: str) -> None:
        self.canvas.setFillColor(colour)
        self.canvas.drawPath(self._path(points), stroke=0, fill=1)

    def text(self, x: float, y: float, text: str, size_mm: float, colour: str) -> None:
        self.canvas.setFillColor(colour)
        self.canvas.setFont(FONTS[FONT], size_mm * mm)
        self.canvas.drawString(x * mm, (self.height_mm - y) * mm, text)

    def finish(self) -> bytes:
        self.canvas.showPage()
        with FONTS_READ:
            self.canvas.save()
        return self.buffer.getvalue()


class Svg(Ink):
    """Vectors as text, the font within."""

    def __init__(self, width_mm: float, height_mm: float, title: str) -> None:
        super().__init__(width_mm, height_mm, title)
        self.parts: list[str] = []

    def line(self, points: Sequence[tuple[float, float]], colour: str, width_mm: float, dash: str = "solid") -> None:
        gaps = " ".join(f"{part * width_mm:.3f}" for part in DASHES[dash])
        dashes = f' stroke-dasharray="{gaps}"' if gaps else ""
        style = f'fill="none" stroke="{colour}" stroke-width="{width_mm:.3f}"{dashes}'
        self.parts.append(f'<path d="{_path(points)}" {style}/>')

    def area(self, points: Sequence[tuple[float, float]], colour: str) -> None:
        self.parts.append(f'<path d="{_path(points)}Z" fill="{colour}"/>')

    def text(self, x: float, y: float, text: str, size_mm: float, colour: str) -> None:
        place = f'x="{x:.3f}" y="{y:.3f}" font-size="{size_mm:.3f}" fill="{colour}"'
        self.parts.append(f"<text {place}>{escape(text)}</text>")

    def finish(self) -> bytes:
        wide, high = f"{self.width_mm:g}", f"{self.height_mm:g}"
        size = f'width="{wide}mm" height="{high}mm" viewBox="0 0 {wide} {high}"'
        font = f"data:font/ttf;base64,{base64.b64encode(_font_bytes()).decode()}"
        style = f"@font-face{{font-family:Paper;src:url({font})}}text{{font-family:Paper}}"
        head = f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img"><title>{escape(self.title)}</title>'
        ground = '<rect width="100%" height="100%" fill="#ffffff"/>'
        return "\n".join([f"{head}<style>{style}</style>", ground, *self.parts, "</svg>", ""]).encode()


class Png(Ink):
    """Dots, 600 an inch."""

    def __init__(self, width_mm: float, height_mm: float, title: str) -> None:
        from PIL import Image, ImageDraw

        super().__init__(width_mm, height_mm, title)
        self.scale = DPI / MM_PER_INCH
        size = round(width_mm * self.scale), round(height_mm * self.scale)
        self.image = Image.new("RGB", size, "#ffffff")
        self.draw = ImageDraw.Draw(self.image)

    def _dots(self, points: Points) -> list[tuple[float, float]]:
        return [(x * self.scale, y * self.scale) for x, y in points]

    def line(self, points: Sequence[tuple[float, float]], colour: str, width_mm: float, dash: str = "solid") -> None:
        width = max(1, round(width_mm * self.scale))
        for part in dashed(points, [part * width_mm for part in DASHES[dash]]):
            self.draw.line(self._dots(part), colour, width, joint="curve")

    def area(self, points: Sequence[tuple[float, float]], colour: str) -> None:
        self.draw.polygon(self._dots(points), colour)

    def text(self, x: float, y: float, text: str, size_mm: float, colour: str) -> None:
        from PIL import ImageFont

        font = ImageFont.truetype(io.BytesIO(_font_bytes()), size_mm * self.scale)
        self.draw.text((x * self.scale, y * self.scale), text, colour, font, anchor="ls")

    def finish(self) -> bytes:
        out = io.BytesIO()
        self.image.save(out, "PNG", dpi=(DPI, DPI))
        return out.getvalue()


INKS: dict[str, Callable[[float, float, str], Ink]] = {"svg": Svg, "pdf": Pdf, "png": Png}


@cache
def _font_bytes() -> bytes:
    return (files("tissue") / "data" / "fonts" / f"{FONTS[FONT]}.ttf").read_bytes()


def _path(points: Points) -> str:
    """Points as the path of an SVG."""
    return "M" + "L".join(f"{x:.3f},{y:.3f}" for x, y in points)


def dashed(points: Points, pattern: Sequence[float]) -> list[Points]:
    """A line as its dashes.

    Args:
        points: of the line [mm].
        pattern: lengths of dash, gap, … [mm]; nothing for a solid line.

    >>> [part[0][0] for part in dashed([(0.0, 0.0), (5.0, 0.0)], [1.0, 1.0])]
    [0.0, 2.0, 4.0]
    """
    if not pattern or len(points) < 2:
        return [points]
    x, y = np.array(points, dtype=float).T
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    found: list[Points] = []
    start, i = 0.0, 0
    while start < along[-1]:
        end = min(start + pattern[i % len(pattern)], along[-1])
        if i % 2 == 0:
            at = np.concatenate([[start], along[(along > start) & (along < end)], [end]])
            found.append(list(zip(np.interp(at, along, x).tolist(), np.interp(at, along, y).tolist(), strict=True)))
        start, i = end, i + 1
    return found
