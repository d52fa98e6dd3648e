"""Two people at one server: neither sees the other's eye; and what a page says is heard in the end."""

import os
import re

from acts import beds, drawn_after, field, idle, values
from hurry import button, settled
from serving import ROOT, server
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
from websockets.sync.client import connect

THICKNESSES_UM = ("521", "587")


def test_sessions_do_not_see_each_others_eyes(open_page):
    """Source: the figures of each page are those of the arithmetic for what was typed there."""
    pages = [open_page(), open_page()]
    for page, thickness in zip(pages, THICKNESSES_UM, strict=True):
        drawn_after(page, lambda page=page: field(page, "thinnest_um").fill("510"))
        drawn_after(page, lambda page=page, thickness=thickness: field(page, "central_thickness_um").fill(thickness))
    for page, thickness in zip(pages, THICKNESSES_UM, strict=True):
        typed = {"central_thickness_um": thickness, "thinnest_um": "510", "sphere_D": "-6.00", "cylinder_D": "-1.25"}
        typed |= {name: field(page, name).input_value() for name in ("axis_deg", "mean_K_D", "zone_mm")}
        typed |= {name: field(page, name).input_value() for name in ("thinnest_x_mm", "thinnest_y_mm")}
        assert values(page, "Residual bed (RSB), centre") == beds({name: text for name, text in typed.items() if text})


def test_a_page_at_another_address_of_this_machine_is_shown_nothing(page, address):
    """Source: RFC 6455, 10.2: a server names the origins it takes. A foreign page speaks as our own page would."""
    heard = []

    def hear(frame):
        heard.append(frame)

    page.on("websocket", lambda socket: socket.on("framesent", hear))
    page.reload()
    page.wait_for_selector(".plot[data-drawn]", timeout=60000)
    own, foreign = (told(address, origin, heard[0]) for origin in (address, "http://127.0.0.1:1"))
    assert b"harbour-03" in own
    assert b"harbour" not in foreign and b"tissue" not in foreign


def told(address, origin, first):
    """All that the server says to a page of that origin, up to the end of its first run."""
    said = b""
    url = address.replace("http", "ws") + "/_stcore/stream"
    with connect(url, origin=origin, subprotocols=["streamlit"], max_size=None) as socket:
        socket.send(first)
        while True:
            frame = socket.recv(timeout=60)
            said += frame
            message = ForwardMsg()
            message.ParseFromString(frame)
            if message.WhichOneof("type") == "script_finished":
                return said


def test_neither_a_lost_message_nor_a_line_lost_until_the_page_is_forgotten_loses_anything(chrome):
    """Source: rule of the desk: fields and figures are those of one eye. Both were those of the demo eye again.

    A press, whose run the library stops before it begins where another message comes right beside, was never done.
    """
    lines, cut, lost = [], [], []

    def line(socket):
        if cut:
            socket.close()
        else:
            lines.append(socket)
            there = socket.connect_to_server()
            socket.on_message(lambda said: None if lost else there.send(said))

    with server(PYTHONPATH=f"{ROOT / 'tests' / 'browser' / 'forgetful'}{os.pathsep}{ROOT}") as address:
        page = chrome.new_page(viewport={"width": 1440, "height": 900})
        page.route_web_socket(re.compile("_stcore/stream"), line)
        page.goto(address)
        page.wait_for_selector(".plot[data-drawn]", timeout=60000)
        for name, text in (
            ("refraction", "-9.50 -1.25 x 170"),
            ("thinnest_um", "488"),
            ("central_thickness_um", "491"),
        ):
            field(page, name).fill(text)
        settled(page)
        lost.append(True)
        button(page, "Keep this plan").click()
        page.wait_for_timeout(400)
        lost.clear()
        button(page, "Drop the kept plan").wait_for()
        settled(page)
        assert button(page, "Keep this plan").count() == 0  # and it was done once
        button(page, "Drop the kept plan").click()
        button(page, "Keep this plan").wait_for()
        settled(page)
        before = values(page, "Residual bed (RSB), centre")
        cut.append(True)
        lines[0].close()
        page.wait_for_selector("[data-test-connection-state]:not([data-test-connection-state=CONNECTED])")
        field(page, "zone_mm").fill("6.2")  # typed while there is no line
        page.wait_for_timeout(4000)
        cut.clear()
        page.wait_for_selector("[data-test-connection-state=CONNECTED]", timeout=60000)
        settled(page)
        names = ("sphere_D", "central_thickness_um", "thinnest_um", "zone_mm")
        typed = {name: field(page, name).input_value() for name in (*names, "cylinder_D", "axis_deg", "mean_K_D")}
        typed |= {name: field(page, name).input_value() for name in ("thinnest_x_mm", "thinnest_y_mm")}
        after = values(page, "Residual bed (RSB), centre")
        page.close()
    assert [typed[name] for name in names] == ["−9.50", "491", "488", "6.2"]
    assert after == beds(typed) != before


def test_what_is_said_while_a_screen_is_left_is_said_in_the_end(page):
    """Another screen was asked for and then this one again: for 20 s nothing was said, and after that not either."""
    idle(page)
    said = page.evaluate("""() => {
      const desk = window.tissueDesk;
      desk.leave();
      clearTimeout(desk.again);
      desk.again = 0;
      desk.say();
      const again = desk.again !== 0;
      [...document.querySelectorAll("a[href]")].find((link) => link.innerText.trim() === "Plan").click();
      return [again, desk.leaving()];
    }""")
    assert said == [True, False]
    idle(page)
