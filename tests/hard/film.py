"""A film strip of a drag on Plan: the line in every frame, and the figures that follow it, to be looked at.

Run with `python tests/hard/film.py OUT.png [handle]`, the handle by its name, `Plane of the flap` where none is given;
prints how many frames there were, how far the line stood from the hand at most, and what the picture then said.
"""

import base64
import io
import sys
from pathlib import Path

from PIL import Image, ImageDraw

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))

from acts import idle
from grasped import WATCH, middle
from serving import browser, server

SIZE = {"width": 1440, "height": 1000}
MOVES, STEP_PX, WAIT_MS, STAY_MS = 30, 1.0, 25, 900  # how far the hand goes, how fast, and how long it is held
SHOWN, IN_ROW = 8, 4
PICTURE = ".st-key-sections_box"


def dragged(page, name):
    """The frames of a drag as (second, image bytes), and what was seen in every one of them."""
    frames, session = [], page.context.new_cdp_session(page)

    def took(event):
        frames.append((event["metadata"]["timestamp"], base64.b64decode(event["data"])))
        session.send("Page.screencastFrameAck", {"sessionId": event["sessionId"]})

    session.on("Page.screencastFrame", took)
    page.evaluate(WATCH, name)
    x, y = middle(page, name)
    session.send("Page.startScreencast", {"format": "jpeg", "quality": 85, "everyNthFrame": 1})
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(1, MOVES + 1):
        page.mouse.move(x, y + STEP_PX * step)
        page.wait_for_timeout(WAIT_MS)
    page.wait_for_timeout(STAY_MS)
    page.mouse.up()
    session.send("Page.stopScreencast")
    return frames, page.evaluate("() => window.frames_seen")


def strip(frames, box):
    """Some of the frames side by side, each with the ms since the first, cut to the picture."""
    first, found = frames[0][0], []
    for at in range(SHOWN):
        second, data = frames[round(at * (len(frames) - 1) / (SHOWN - 1))]
        image = Image.open(io.BytesIO(data))
        scale = image.width / SIZE["width"]
        edges = (box["x"], box["y"], box["x"] + box["width"], box["y"] + box["height"])
        image = image.crop([round(edge * scale) for edge in edges])
        ImageDraw.Draw(image).text((6, 4), f"{1000.0 * (second - first):.0f} ms", fill=(170, 0, 60))
        found.append(image)
    wide, high = found[0].size
    whole = Image.new("RGB", (wide * IN_ROW, high * (SHOWN // IN_ROW)), "white")
    for at, image in enumerate(found):
        whole.paste(image, (wide * (at % IN_ROW), high * (at // IN_ROW)))
    return whole


def filmed(out, name):
    """Make the strip and say what was seen."""
    with server() as address, browser() as chrome:
        page = chrome.new_context(viewport=SIZE).new_page()
        page.goto(address)
        page.wait_for_selector(".plot[data-drawn]", timeout=60000)
        idle(page)
        box = page.locator(PICTURE).bounding_box()
        box |= {"height": min(box["height"], SIZE["height"] - box["y"])}
        frames, seen = dragged(page, name)
        idle(page)
        said = page.get_by_role("slider", name=name, exact=True).get_attribute("aria-valuetext")
        away = max(abs(down) for _, _, down in seen)
        strip(frames, box).save(out)
        print(
            f"{len(frames)} frames pictured, {len(seen)} looked at, without the line {sum(not one for one, *_ in seen)}"
        )
        print(f"line from the hand at most {away:.1f} px; then: {said}")
    return all(one for one, *_ in seen)


if __name__ == "__main__":
    whole = filmed(sys.argv[1], sys.argv[2] if len(sys.argv) > 2 else "Plane of the flap")
    sys.exit(not whole)
