// One drag of a handle: from the first move to the release; with keys, to Enter or the loss of the focus. All its moves
// are sent to the desk under one name and taken back together. At most one value is on its way at a time.
const LATE_MS = 300; // a picture older than this pales like every other figure

const alike = (one, other) => one.every((value, i) => value === other[i]);

function begin(node, item) {
  if (item.drag) close(item.drag);
  const { plan, side } = node.tissue.spec.moves;
  const drag = { id: `${Date.now()}-${Math.random()}`, node, item, plan, side, start: [...item.at], sent: [...item.at] };
  Object.assign(drag, { drawn: [...item.at], number: 0, sentAt: 0, over: false, pointer: false, turning: false });
  drag.flush = () => alike(item.at, drag.sent) || send(drag);
  window.tissueDesk.forms.add(drag.flush);
  item.drag = drag;
  return drag;
}

// The drag has ended: send what was not sent yet.
function close(drag) {
  const desk = window.tissueDesk;
  drag.flush();
  drag.closed = true;
  desk.forms.delete(drag.flush);
  desk.typing.delete(drag);
  desk.pale();
}

function set(drag, values) {
  const { item, node } = drag;
  item.at = snapped(item.spec, values);
  const desk = window.tissueDesk;
  if (alike(item.at, drag.sent)) desk.typing.delete(drag);
  else desk.typing.add(drag);
  desk.pale();
  paint(node, item);
  turn(drag);
}

function over(drag) {
  drag.over = true;
  turn(drag);
}

function takeBack(drag) {
  const { item, node } = drag, desk = window.tissueDesk;
  item.at = [...drag.start];
  drag.sent = [...drag.start];
  desk.typing.delete(drag);
  if (drag.number) drag.number = desk.change("undo", { plan: drag.plan, drag: drag.id });
  drag.sentAt = performance.now();
  drag.back = true;
  over(drag);
  paint(node, item);
}

function send(drag) {
  const desk = window.tissueDesk, { item, plan, side, id } = drag;
  const entries = item.spec.names.map((name, k) => ({ plan, side, form: "", name, text: typed(item.spec, item.at[k]), drag: id }));
  const changed = entries.filter((_, k) => item.at[k] !== drag.sent[k]);
  drag.sent = [...item.at];
  drag.sentAt = performance.now();
  desk.typing.delete(drag);
  drag.number = desk.edit(...changed);
}

// Called once a frame as long as something is not sent or not answered.
function turn(drag) {
  if (drag.turning) return;
  drag.turning = true;
  requestAnimationFrame(() => {
    drag.turning = false;
    if (drag.closed) return;
    const { item } = drag, desk = window.tissueDesk, answered = desk.shown >= drag.number;
    if ((answered || alike(drag.drawn, drag.sent)) && !alike(item.at, drag.sent)) send(drag);
    const drawn = alike(drag.drawn, drag.sent), late = !drawn && performance.now() - drag.sentAt > LATE_MS;
    const settled = alike(item.at, drag.sent) && desk.shown >= drag.number && (drawn || late);
    document.body.classList.toggle("tissue-moving", !settled && !late && !drag.back);
    if (!settled) turn(drag);
    else if (drag.over) end(drag);
  });
}

// Everything is sent and answered: the handle goes to the place of its picture, which differs where a value was refused.
function end(drag) {
  const { item, node } = drag;
  close(drag);
  document.body.classList.remove("tissue-moving");
  item.drag = null;
  item.at = [...item.spec.values];
  paint(node, item);
}
