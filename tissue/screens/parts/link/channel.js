// The page's half of the desk: a log of all that was typed and asked for, numbered, each entry kept until it is answered.
// Whatever is sent carries the whole of it, so that no message that is overtaken or dropped takes anything with it.
const AGAIN_MS = 600, AGAIN_LAST_MS = 5000; // what is not shown by then, with nothing on its way, is said again; ever later
const PAGE_KEPT = "tissue-desk";
const LEFT_BY_MS = 20000; // another screen is there by then, or it does not come
const LOOK_AGAIN_MS = 100; // how long one who would speak waits while another screen is on its way
const ANOTHER = ["new", "leave", "step", "open", "eye", "restore"]; // acts that may bring another patient or another eye

const newName = () => [...crypto.getRandomValues(new Uint8Array(6))].map((one) => one.toString(16).padStart(2, "0")).join("");

function newDesk() {
  const desk = {
    name: "", number: 0, answered: 0, edited: 0, shown: 0, wrong: false, bound: false,
    log: [], forms: new Set(), typing: new Set(), send: null, again: 0, wait: AGAIN_MS, seen: "", turn: null, plan: null,
    waiting: new Set(), screen: "", leavingUntil: 0, held: false, ends: false, pressed: false,
    awaits: 0, asks: false, at: "",
  };
  desk.say = () => {
    desk.held = desk.leaving(); // a message of the old screen would bring it back
    if (!desk.send || !desk.name) return;
    if (desk.held) return desk.look();
    desk.inTurn("link", () => desk.send({ desk: desk.name, log: desk.log, at: desk.number }));
    desk.look();
  };
  // What is said in one turn goes out as one message. Where one who speaks stands in a part of the screen that is drawn
  // alone, that part alone would be drawn: so each who speaks has a turn of its own. Nobody has one while another screen
  // is on its way, and whose screen is left has nothing to say any more.
  desk.inTurn = (who, say) => {
    desk.waiting.delete(say);
    if (who.isConnected === false) return;
    const leaving = desk.leaving();
    if (leaving || (desk.turn && desk.turn !== who)) {
      desk.waiting.add(say);
      setTimeout(() => desk.inTurn(who, say), leaving ? LOOK_AGAIN_MS : 0);
      return;
    }
    desk.turn = who;
    try {
      say();
    } finally {
      setTimeout(() => (desk.turn = desk.turn === who ? null : desk.turn), 0);
    }
  };
  desk.leaving = () => performance.now() < desk.leavingUntil;
  desk.leave = () => (desk.leavingUntil = performance.now() + LEFT_BY_MS);
  desk.arrive = (screen) => {
    if (screen !== desk.screen) desk.leavingUntil = 0;
    desk.screen = screen;
  };
  // What was overtaken by another message is said again: an entry without an answer, or a run that did not reach its end.
  // A slow page has more to take in after a run has ended: so it is said only where nothing has moved between two looks.
  desk.look = () => {
    clearTimeout(desk.again);
    desk.again = setTimeout(desk.sayAgain, desk.wait);
  };
  desk.sayAgain = () => {
    if (!desk.log.length && desk.edited <= desk.shown) return;
    const app = document.querySelector(".stApp"), open = document.querySelector("[role=dialog]");
    const moved = desk.leaving() || (app && app.dataset.testScriptState !== "notRunning") || (open && !desk.log.length);
    const seen = moved ? "" : `${desk.number} ${desk.answered} ${desk.shown}`;
    if (!seen || seen !== desk.seen) {
      desk.seen = seen;
      return desk.look();
    }
    desk.wait = Math.min(2 * desk.wait, AGAIN_LAST_MS);
    desk.number += 1; // a message that says the same is not sent
    desk.say();
  };
  const note = (...entries) => {
    desk.wait = AGAIN_MS;
    for (const entry of entries) {
      desk.number += 1;
      desk.log = [...desk.log, { ...entry, number: desk.number }];
    }
    desk.say();
    return desk.number;
  };
  desk.edit = (...entries) => {
    if (!(performance.now() - window.tissueSentAt < 5000)) window.tissueSentAt = performance.now();
    desk.edited = note(...entries);
    desk.pale();
    return desk.edited;
  };
  desk.flush = () => desk.forms.forEach((flush) => flush());
  desk.act = (act, more = {}) => {
    desk.flush();
    return ANOTHER.includes(act) && more.how !== "stay" ? desk.turnTo(act, more) : note({ act, ...more });
  };
  // Until another patient's fields are there, nothing typed may go to the one before. Where it is certain that a new
  // patient comes, the fields are empty at once and are already theirs, by a name that is given here; else they are locked.
  desk.turnTo = (act, more) => {
    const certain = (act === "new" && !desk.asks && desk.edited <= desk.answered) || more.how === "drop";
    const begins = newName();
    desk.awaits = desk.edit({ act, ...more, begins });
    if (certain) desk.at = begins;
    for (const form of document.querySelectorAll("form.tissue-fields")) form.tissue?.turn(certain ? begins : "");
    return desk.awaits;
  };
  // An act that changes what the figures stand for.
  desk.change = (act, more = {}) => {
    desk.flush();
    return desk.edit({ act, ...more });
  };
  desk.answer = (number) => {
    desk.answered = Math.max(desk.answered, number);
    desk.number = Math.max(desk.number, number);
    desk.log = desk.log.filter((entry) => entry.number > desk.answered);
  };
  // Whether these are still the fields of the eye before. A server that was started anew has no answer to what was asked.
  desk.waitsFor = ({ desk: name, gone, late, answered }) => late || (answered < desk.awaits && !(gone && name !== desk.name));
  // Whether all that was typed is answered and shown, nothing is on its way, and nobody speaks or waits for a turn.
  desk.settled = () => {
    const app = document.querySelector(".stApp"), speaks = desk.turn || desk.waiting.size;
    return !speaks && !desk.log.length && desk.edited <= desk.shown && app?.dataset.testScriptState !== "running";
  };
  desk.pale = () => {
    const old = !desk.bound || desk.typing.size > 0 || desk.edited > desk.shown || desk.wrong;
    document.body.classList.toggle("tissue-old", old);
  };
  return desk;
}

window.tissueDesk ??= newDesk();
