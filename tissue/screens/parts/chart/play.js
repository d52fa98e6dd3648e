// Plays the cuts: strokes whose points carry the second at which they are cut, drawn up to the present moment. When it is
// stopped, the desk gets this moment; until then the figures of the page belong to another one and are pale.
const FRAME_MS = 100; // longest step, so that a page that was hidden goes on from where it was
const SPEEDS = [["0.25", "a quarter"], ["1", "real time"], ["4", "4 times"], ["16", "16 times"]];

function equip(node, spec) {
  const player = node.parentElement.querySelector(".player"), played = spec.layout.meta?.played;
  player.hidden = !played;
  if (!played) return;
  const play = (node.tissue.play ??= wired(node, player));
  play.played = played;
  play.moves = spec.moves;
  if (!play.running) play.now = played.now;
  play.points = played.strokes.map((one) => one.x.map((x, i) => pixels(node, one.axes, x, one.y[i])));
  play.paths.slice(played.strokes.length).forEach((path) => path.remove());
  play.paths = played.strokes.map((_, i) => play.paths[i] ?? element(play.layer, "path", "cut"));
  play.layer.ownerSVGElement.parentElement.style.height = `${node.clientHeight}px`;
  reveal(play);
}

function wired(node, player) {
  const layer = element(node.parentElement.querySelector(".handles svg"), "g", "cuts");
  const [go, again, speed, said] = ["button", "button", "select", "span"].map((name) => element(player, name, name));
  const play = { node, player, layer, go, said, speed, paths: [], running: false, at: 0 };
  go.type = again.type = "button";
  again.textContent = "from the start";
  speed.setAttribute("aria-label", "Speed");
  speed.append(...SPEEDS.map(([value, words]) => new Option(words, value, value === "4", value === "4")));
  go.addEventListener("click", () => (play.running ? stop(play) : start(play)));
  again.addEventListener("click", () => {
    play.now = 0;
    start(play);
  });
  player.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && play.running) stop(play, false);
  });
  play.flush = () => play.running && stop(play);
  return play;
}

function start(play) {
  const desk = window.tissueDesk;
  if (play.now >= play.played.total) play.now = 0;
  desk.typing.add(play);
  desk.forms.add(play.flush);
  desk.pale();
  play.node.parentElement.classList.add("playing");
  play.running = true;
  play.at = performance.now();
  reveal(play);
  requestAnimationFrame(() => tick(play));
}

function tick(play) {
  if (!play.running) return;
  if (!play.node.isConnected) return stop(play, false);
  const now = performance.now();
  play.now = Math.min(play.played.total, play.now + (Math.min(now - play.at, FRAME_MS) / 1000) * play.speed.value);
  play.at = now;
  reveal(play);
  if (play.now >= play.played.total) stop(play);
  else requestAnimationFrame(() => tick(play));
}

// Stop here, or go back to the moment of the plan.
function stop(play, keep = true) {
  const desk = window.tissueDesk;
  play.running = false;
  desk.typing.delete(play);
  desk.forms.delete(play.flush);
  if (keep) desk.change("moment", { ...play.moves, seconds: +play.now.toFixed(3) });
  else play.now = play.played.now;
  desk.pale();
  play.node.parentElement.classList.remove("playing");
  reveal(play);
}

function reveal(play) {
  const { played, now, points } = play;
  played.strokes.forEach((one, i) => {
    const path = play.paths[i];
    path.setAttribute("d", cutUpTo(points[i], one.at, now));
    path.setAttribute("style", `stroke:${one.colour};stroke-width:${one.width}px`);
  });
  const [, name] = played.stages.find(([end]) => now < end) ?? played.stages.at(-1);
  play.said.textContent = `${now.toFixed(1)} of ${played.total} s, ${name}`;
  const words = play.running ? "pause" : "play";
  if (play.go.textContent !== words) play.go.textContent = words;
}

// Points cut by now, the last one on the way to the next.
function cutUpTo(points, at, now) {
  let count = at.findIndex((second) => second > now);
  if (count < 0) count = at.length;
  if (!count || now <= at[0]) return "";
  const reached = points.slice(0, count);
  if (count < at.length) {
    const share = (now - at[count - 1]) / (at[count] - at[count - 1]), [[x, y], [toX, toY]] = points.slice(count - 1);
    reached.push([x + share * (toX - x), y + share * (toY - y)]);
  }
  return `M${reached.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}`;
}
