// The one place where the page speaks to the desk on the server, and where files and words arrive.
const LOOK_MS = 40, QUIET_LOOKS = 2, HELD_MS = 8000;
const STILL_PX = 8; // a hand that moves farther between press and release has thought better of it
const NOT_THERE = "The tool on this machine does not answer. What is typed on this page stays here: once the tool is " +
  "started again, the page goes on by itself.";
const TYPED_INTO = "input:not([type=radio]), textarea, select, [contenteditable=true], [role=dialog]";
const SINGLE = { n: ["new"], "[": ["step", { by: -1 }], "]": ["step", { by: 1 }] };

// Another screen is asked for once all that was typed is answered: what the old screen still tells would bring it back.
function leave(desk, link, event) {
  if (desk.leaving()) return;
  if (desk.settled()) return desk.leave();
  event.preventDefault();
  event.stopImmediatePropagation();
  const asked = performance.now();
  let quiet = 0;
  clearInterval(desk.waits);
  desk.waits = setInterval(() => {
    quiet = desk.settled() ? quiet + 1 : 0;
    if (quiet < QUIET_LOOKS && performance.now() - asked < HELD_MS) return;
    clearInterval(desk.waits);
    desk.leave();
    link.click();
  }, LOOK_MS);
}

// The screen that is shown is asked for while another one is on its way: that one does not come.
function stay(desk) {
  clearInterval(desk.waits);
  desk.leavingUntil = 0;
}

// The library sends what it is told one turn later. By then the browser has drawn the page with the new text, and only
// then would the server begin; and a page that is being left has no later turn. So a turn without a wait is taken at once.
// Not where the page already waits for an answer: what comes in one turn of a busy page then goes out as one message. Nor
// where a press is what sends it: a button of the library tells its press in the same turn, and of two messages so close
// to each other the library at times loses the press.
function atOnce(say) {
  const later = window.setTimeout;
  window.setTimeout = (act, wait, ...more) => (wait ? later(act, wait, ...more) : act(...more));
  try {
    say();
  } finally {
    window.setTimeout = later;
  }
}

function shortcuts(desk) {
  const flush = (event) => {
    const { target, type } = event;
    desk.pressed = true;
    try {
      if (!target.closest?.("form.tissue-fields, .tissue-chart .player")) desk.flush(); // these speak for themselves
    } finally {
      desk.pressed = false;
    }
    const link = type === "click" && target.closest?.("a[href]");
    if (!link || link.origin !== location.origin) return;
    if (link.pathname === location.pathname) stay(desk);
    else leave(desk, link, event);
  };
  document.addEventListener("pointerdown", flush, true);
  document.addEventListener("click", flush, true);
  document.addEventListener("click", (event) => marked(desk, event), true);
  document.addEventListener("keydown", (event) => {
    const field = event.target.closest?.(TYPED_INTO);
    if (field || event.ctrlKey || event.metaKey || event.altKey || document.querySelector("[role=dialog]")) return;
    const [act, more] = SINGLE[event.key] ?? [];
    if (!act) return;
    event.preventDefault();
    desk.act(act, more);
  }, true);
  document.addEventListener("keydown", (event) => {
    const field = event.target.closest?.(TYPED_INTO);
    if (field || !(event.ctrlKey || event.metaKey) || event.key !== "z") return;
    event.preventDefault();
    desk.change("undo", { plan: desk.at });
  });
  document.addEventListener("keydown", (event) => {
    const held = (event.ctrlKey || event.metaKey) && !event.altKey && !event.shiftKey;
    if (!held || event.key.toLowerCase() !== "s") return;
    event.preventDefault(); // the page itself is nothing to keep
    if (!document.querySelector("[role=dialog]")) desk.act("file", { file: "save" });
  }, true);
  document.addEventListener("click", ({ target }) => {
    const { change, plan, drag } = target.closest?.("button[data-change]")?.dataset ?? {};
    if (change) desk.change(change, { plan, drag });
  });
  window.addEventListener("beforeunload", (event) => {
    Object.assign(desk, { turn: null, ends: true }); // whatever else was said in this turn
    desk.flush();
    desk.ends = false;
    if (desk.unsaved || desk.typing.size || desk.edited > desk.answered) event.preventDefault();
  });
}

// A button that the screens have marked: its press goes into the log. Of a press right beside another message the library
// loses one at times; here it does not hear of the press at all, so that none is done twice.
const BOX = '[class*="st-key-press-"], [class*="st-key-change-"]', NAMED = /^st-key-(press|change)-(.+)$/;

function marked(desk, event) {
  const box = event.target.closest?.("button")?.closest(BOX);
  const found = box && [...box.classList].map((word) => NAMED.exec(word)).find(Boolean);
  if (!found) return;
  event.stopPropagation();
  const [, how, button] = found;
  if (how === "change") desk.change("press", { button });
  else desk.act("press", { button });
}

// Between press and release of a button the page may be drawn anew: the button moves away, or another stands in its place,
// and the browser finds no click. The press was meant all the same.
function pressed() {
  let press = null;
  document.addEventListener("pointerdown", ({ target, clientX, clientY, button }) => {
    const meant = button === 0 && target.closest?.(`:is(.tissue-hand, ${BOX}) button`);
    press = meant ? { meant, x: clientX, y: clientY } : null;
  }, true);
  document.addEventListener("pointercancel", () => (press = null), true);
  document.addEventListener("pointerup", ({ target, clientX, clientY }) => {
    const { meant, x, y } = press ?? {};
    press = null;
    if (!meant || meant.contains(target) || Math.hypot(clientX - x, clientY - y) > STILL_PX) return;
    meant.click();
  }, true);
}

// Where the server does not answer, the library speaks of itself and of the internet: the tool's own words stand there.
function ownWords() {
  const dialogs = [...document.querySelectorAll("[role=dialog]")].filter((one) => /streamlit/i.test(one.textContent));
  for (const dialog of dialogs) {
    const texts = document.createTreeWalker(dialog, NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) if (/Streamlit/.test(texts.currentNode.data)) texts.currentNode.data = NOT_THERE;
    dialog.querySelectorAll("pre").forEach((code) => (code.style.display = "none"));
  }
}

// A server that was started anew, or a line that was lost: the page says at once whose desk it shows.
function watchLine(desk) {
  const app = document.querySelector(".stApp");
  let lost = false;
  const said = new MutationObserver(ownWords);
  const looked = () => {
    const connected = app.dataset.testConnectionState === "CONNECTED";
    if (connected) said.disconnect();
    else said.observe(document.body, { childList: true, subtree: true });
    if (connected && lost) {
      desk.number += 1;
      desk.say();
    }
    lost = !connected;
  };
  new MutationObserver(looked).observe(app, { attributes: true, attributeFilter: ["data-test-connection-state"] });
}

function give(name, kind, bytes) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([bytes], { type: kind }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

// A page that comes back names the desk it had; a new one takes the name it is given.
function bind(desk, head) {
  const had = desk.name || sessionStorage.getItem(PAGE_KEPT) || "";
  if (had && had !== head.desk && head.asked !== had) {
    desk.name = had;
    desk.number += 1;
    desk.say();
    return desk.pale();
  }
  if (desk.name !== head.desk) {
    if (head.gone) {
      desk.lost = { plan: desk.plan, log: desk.log };
      Object.assign(desk, { log: [], edited: 0, shown: 0, answered: 0, awaits: 0 });
    }
    desk.name = head.desk;
    sessionStorage.setItem(PAGE_KEPT, head.desk);
    if (desk.log.length) desk.say();
  }
  desk.bound = true;
  return desk.pale();
}

function words(box, desk, head) {
  const note = box.querySelector(".said");
  note.textContent = head.said;
  note.hidden = !head.said;
  const gone = box.querySelector(".gone");
  const held = desk.lost?.plan;
  gone.hidden = !head.gone;
  gone.querySelector("p").textContent = held ? `${head.lost} This page still shows ${held.code || "a plan without a code"}.` : head.lost;
  const [back, file] = gone.querySelectorAll("button");
  back.hidden = file.hidden = !held;
  if (!held) return;
  back.onclick = () => {
    back.hidden = true; // a second press would bring it a second time
    desk.act("restore", { of: held.id, side: held.side, text: held.text, edits: desk.lost.log });
  };
  file.onclick = () => give(held.name, "application/toml", held.text);
}

export default function ({ data, parentElement, setStateValue }) {
  const box = parentElement.querySelector(".tissue-link");
  if (!box || !data) return;
  const desk = window.tissueDesk;
  if (!desk.wired) {
    desk.wired = true;
    shortcuts(desk);
    pressed();
    watchLine(desk);
  }
  const tell = (said) => setStateValue("said", said);
  const waits = (said) => (said.log.length > 1 || desk.pressed) && !desk.ends;
  desk.send = (said) => (waits(said) ? tell(said) : atOnce(() => tell(said)));
  const cut = data.indexOf(10);
  const head = JSON.parse(new TextDecoder().decode(data.subarray(0, cut)));
  bind(desk, head);
  if (desk.name !== head.desk) return;
  desk.arrive(head.screen);
  desk.answer(head.answered);
  if (!desk.waitsFor(head)) desk.at = head.at;
  if (desk.held) desk.say();
  desk.unsaved = head.unsaved;
  desk.asks = head.asks;
  words(box, desk, head);
  if (!head.file || desk.given === head.file.number) return;
  desk.given = head.file.number;
  give(head.file.name, head.file.kind, data.slice(cut + 1));
  desk.act("got", { file: head.file.number });
}
