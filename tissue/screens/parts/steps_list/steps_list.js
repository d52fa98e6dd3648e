// Numbered steps as buttons: a click or a key chooses one; the arrow keys go to the one before and the one after.
// The button below moves them by themselves until it is pressed again; where motion is not wanted it moves one step.
const ON = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1 };
const EACH_MS = 4000;

function build(box, items) {
  box.replaceChildren();
  items.forEach(() => {
    const item = document.createElement("li");
    const button = document.createElement("button");
    button.type = "button";
    button.append(document.createElement("b"), document.createElement("span"));
    item.append(button);
    box.append(item);
  });
}

function stop(play) {
  clearInterval(play.running);
  play.running = null;
  play.textContent = play.still ? play.names.next : play.names.play;
}

// Each step stays for a while; the last one ends it.
function start(play) {
  const first = play.at() >= play.last() ? 0 : play.at() + 1;
  play.choose(first);
  if (play.still || first >= play.last()) return;
  play.textContent = play.names.stop;
  play.running = setInterval(() => {
    if (!play.isConnected || play.at() < 0 || play.at() >= play.last()) return stop(play);
    play.choose(play.at() + 1);
    if (play.at() >= play.last()) stop(play);
  }, EACH_MS);
}

export default function ({ data, parentElement, setTriggerValue }) {
  const box = parentElement.querySelector(".tissue-steps");
  const play = parentElement.querySelector(".tissue-play");
  if (!box || !data) return;
  const { items, now, names } = JSON.parse(new TextDecoder().decode(data));
  box.lang = play.lang = names.lang;
  box.ariaLabel = names.steps;
  if (box.children.length !== items.length) build(box, items);
  const buttons = [...box.querySelectorAll("button")];
  const mark = (at) => buttons.forEach((button, i) => (i === at ? button.setAttribute("aria-current", "step") : button.removeAttribute("aria-current")));
  const choose = (at) => {
    mark(at);
    window.tissueDesk.inTurn(box, () => setTriggerValue("step", at));
  };
  const byHand = (at) => {
    stop(play);
    choose(at);
  };
  buttons.forEach((button, i) => {
    const [head, sentence] = items[i];
    button.children[0].textContent = head;
    button.children[1].textContent = sentence;
    button.onclick = () => byHand(i);
    button.onkeydown = (event) => {
      const next = i + (ON[event.key] ?? 0);
      if (next === i || !buttons[next]) return;
      event.preventDefault();
      buttons[next].focus();
      byHand(next);
    };
  });
  Object.assign(play, {
    names,
    choose,
    hidden: items.length < 2,
    still: matchMedia("(prefers-reduced-motion: reduce)").matches,
    at: () => buttons.findIndex((button) => button.hasAttribute("aria-current")),
    last: () => buttons.length - 1,
  });
  if (play.running && (play.still || play.hidden)) stop(play);
  if (!play.running) play.textContent = play.still ? names.next : names.play;
  else play.textContent = names.stop;
  play.onclick = () => (play.running ? stop(play) : start(play));
  mark(now);
}
