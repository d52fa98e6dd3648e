"""The width of a text, by the advance widths of the two typefaces."""

import re
from functools import lru_cache

# Advance widths in thousandths of the type size, in the order of CHARACTERS; measured in a browser at 1000 px
# from the Source Sans and Source Serif files that come with Streamlit.
CHARACTERS = " !#$%&'()*+,-./0123456789:;<=>?@ABCDEFGHIJKLMNOPQRSTUVWXYZ[]^_`abcdefghijklmnopqrstuvwxyz{|}~−–×°µ±…†▽’"
REGULAR = """
    200 289 497 497 824 609 249 303 303 418 497 249 311 249 350 497 497 497 497 497 497 497 497 497 497 249 249
    497 497 497 425 847 543 588 571 615 527 494 617 652 263 479 579 486 727 647 664 566 664 569 534 536 645 515
    786 513 476 539 303 303 497 500 542 504 553 456 555 496 292 504 544 246 247 495 255 829 547 542 555 555 347
    419 338 544 467 719 446 467 425 303 241 303 497 497 480 497 331 562 497 948 454 600 249
"""
BOLD = """
    200 340 528 528 857 667 300 344 344 457 528 300 332 300 339 528 528 528 528 528 528 528 528 528 528 300 300
    528 528 528 463 902 573 605 582 635 548 524 638 674 301 509 614 518 762 665 684 596 684 613 556 556 665 556
    813 567 525 541 344 344 528 500 555 527 573 468 573 518 341 534 571 276 278 548 286 857 572 555 573 573 398
    443 383 568 523 776 514 521 460 344 268 344 528 528 480 528 365 594 528 978 510 600 300
"""
ITALIC = """
    204 260 526 470 798 637 181 318 318 418 500 267 289 267 310 470 470 470 470 470 470 470 470 470 470 267 267
    500 500 500 409 821 592 541 552 614 528 496 591 672 309 308 607 512 804 657 609 490 609 582 445 537 635 594
    873 604 590 518 302 302 497 477 400 497 466 378 501 378 270 441 513 284 246 442 273 754 529 438 481 463 388
    348 286 525 439 692 471 446 414 326 288 326 500 500 477 500 328 506 500 721 478 581 252
"""
UNKNOWN = 1000


class _Table(dict):
    """Widths by character; one that is not in the table counts as a full square."""

    def __missing__(self, character: str) -> int:
        return UNKNOWN


def _table(widths: str) -> _Table:
    return _Table(zip(CHARACTERS, map(int, widths.split()), strict=True))


_REGULAR, _BOLD, _ITALIC = _table(REGULAR), _table(BOLD), _table(ITALIC)
_BOLD_PARTS = re.compile("<b>(.*?)</b>")
LINE = 1.257  # height of a line over its type size, as browsers set these typefaces


@lru_cache(4096)
def text_width(text: str, size_px: float, italic: bool = False) -> float:
    """Width of one line of text [px]; text between <b> and </b> is bold.

    Args:
        text: one line.
        size_px: type size [px].
        italic: whether it is set in the italic serif.

    >>> round(text_width("removed <b>124</b>", 12.0), 1)
    66.2
    """
    regular = _ITALIC if italic else _REGULAR
    widths = 0
    for i, part in enumerate(_BOLD_PARTS.split(text)):
        table = _BOLD if i % 2 else regular
        widths += sum(map(table.__getitem__, part))
    return widths * size_px / 1000.0


def text_size(text: str, size_px: float, italic: bool = False) -> tuple[float, float]:
    """Width and height [px] of a text with lines separated by <br>."""
    lines = text.split("<br>")
    return max(text_width(line, size_px, italic) for line in lines), len(lines) * size_px * LINE
