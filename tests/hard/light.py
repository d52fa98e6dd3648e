"""Sessions without a browser: they say to the server what a page says, and read what it would read.

They stand in for the pages that one machine cannot draw beside the server. What a page says at its first run, at an
edit and when it is quiet is taken from a real page.
"""

import asyncio
import json
import time
from threading import Thread

import websockets
from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg

STREAM = "_stcore/stream"
QUIET_S, TIMES_THE_ANSWER = 0.3, 4.0  # as in tissue/screens
CHANGED = {"zone_mm": (6.5, 0.1), "cap_um": (120, 1), "sphere_D": (-6.0, 0.25), "central_thickness_um": (548, 1)}
FOUR = tuple(CHANGED)


class Said:
    """What a real page said: its first message, an edit, and that it is quiet."""

    def __init__(self, page):
        self.heard = []
        page.on("websocket", lambda socket: socket.on("framesent", self._hear))

    def _hear(self, frame):
        message = BackMsg()
        message.ParseFromString(frame)
        self.heard.append(message)

    def _last(self, ending):
        """The last message that holds a widget of that name and what it says."""
        for message in reversed(self.heard):
            for widget in message.rerun_script.widget_states.widgets:
                if widget.id.endswith(ending):
                    return message, widget
        raise RuntimeError(f"no page has said {ending}")

    def first(self):
        """What a page says when it is opened."""
        return self.heard[0].SerializeToString()

    def edit(self, number, fields):
        """What a page with these fields says at its edit of that number: the four fields of the load, by turns."""
        message, widget = self._last("-link")
        found = BackMsg()
        found.CopyFrom(message)
        del found.rerun_script.widget_states.widgets[:]
        found.rerun_script.ClearField("fragment_id")
        name = FOUR[number % 4]
        start, step = CHANGED[name]
        text = f"{start + step * (1 + number // 4 % 6):.2f}"
        entry = {"plan": fields["plan"], "side": fields["side"], "form": "", "name": name, "text": text}
        log = [entry | {"number": number + 1}]
        told = found.rerun_script.widget_states.widgets.add()
        told.id = widget.id
        told.json_value = json.dumps({"said": {"desk": fields["desk"], "log": log, "at": number + 1}})
        return found.SerializeToString()

    def quiet(self, eyes):
        """What a page that shows these eyes says when no change has come for a moment."""
        message, widget = self._last("-quiet__events")
        found = BackMsg()
        found.CopyFrom(message)
        kept = [one for one in found.rerun_script.widget_states.widgets if one.id == widget.id]
        del found.rerun_script.widget_states.widgets[:]
        found.rerun_script.widget_states.widgets.extend(kept)
        kept[0].json_trigger_value = json.dumps([{"event": "quiet", "value": eyes}])
        return found.SerializeToString()


class Light:
    """Many sessions in a thread of their own; `took` [s] from every edit to its sections, `faults` in words.

    Args:
        address: of the server.
        said: Said of a real page.
        number: of sessions.
        every_s: between two edits of one.
        seconds: how long they edit.
    """

    def __init__(self, address, said, number, every_s, seconds):
        self.address, self.said, self.every_s, self.seconds = address, said, every_s, seconds
        self.took, self.faults, self.edits = [], [], 0
        self.thread = Thread(target=lambda: asyncio.run(self._all(number)))
        self.thread.start()

    async def _all(self, number):
        await asyncio.gather(*(self._session(i * self.every_s / number) for i in range(number)))

    async def _session(self, offset_s):
        stream = f"{self.address.replace('http', 'ws')}/{STREAM}"
        kept = {"origin": self.address, "max_size": None, "compression": None, "subprotocols": ["streamlit"]}
        try:
            async with websockets.connect(stream, **kept) as socket:
                await socket.send(self.said.first())
                await _Session(self, socket).edit(offset_s)
        except (OSError, websockets.WebSocketException) as error:
            self.faults.append(repr(error))


class _Session:
    """One session: what it waits for, and when its last edit was sent."""

    def __init__(self, light, socket):
        self.light, self.socket = light, socket
        self.sent, self.answer_s, self.seen, self.sections = 0.0, 0.0, 0.0, b""
        self.shown = {}

    async def edit(self, offset_s):
        """Edit every so often; between edits read, and say when it is quiet."""
        await self._read_until(time.monotonic() + offset_s + self.light.every_s)
        for number in range(int(self.light.seconds / self.light.every_s)):
            self.sent = time.monotonic()
            next_one, self.seen = self.sent + self.light.every_s, 0.0
            await self.socket.send(self.light.said.edit(number, self.shown["tissue_fields"]))
            self.light.edits += 1
            await self._read_until(next_one)

    async def _read_until(self, end):
        """Read what comes; once all has come and it was quiet for long enough, say so."""
        asked = False
        while (left := end - time.monotonic()) > 0:
            quiet_at = self.seen + max(QUIET_S, TIMES_THE_ANSWER * self.answer_s)
            if self.seen and not asked and time.monotonic() >= quiet_at:
                asked = True
                await self.socket.send(self.light.said.quiet(self.shown["tissue_quiet"]["eye"]))
            wait = min(left, max(0.01, quiet_at - time.monotonic())) if self.seen and not asked else left
            try:
                frame = await asyncio.wait_for(self.socket.recv(), wait)
            except TimeoutError:
                continue
            self._read(frame)

    def _read(self, frame):
        message = ForwardMsg()
        message.ParseFromString(frame)
        kind = message.WhichOneof("type")
        element = message.delta.new_element if kind == "delta" else None
        if element is not None and element.WhichOneof("type") == "exception":
            self.light.faults.append(element.exception.message)
        if element is not None and element.bidi_component.component_name in ("tissue_fields", "tissue_quiet"):
            self.shown[element.bidi_component.component_name] = json.loads(element.bidi_component.json)
        if element is not None and element.bidi_component.component_name == "tissue_chart" and self.sent:
            if self.sections == element.bidi_component.bytes:
                self.light.faults.append("an edit was answered by the sections of the one before")
            self.sections = element.bidi_component.bytes
            self.answer_s = time.monotonic() - self.sent
            self.light.took.append(self.answer_s)
            self.sent = 0.0
        if kind == "script_finished":
            self.seen = time.monotonic()
