// The page's half of the desk: a log of all that was typed and asked for, numbered, each entry kept until it is answered.
// Whatever is sent carries the whole of it, so that no message that is overtaken or dropped takes anything with it.
const AGAIN_AFTER_MS = 5000; // what has no answer by then, with nothing on its way, is said again
const PAGE_KEPT = "tissue-desk";
const LEFT_BY_MS = 20000; // another screen is there by then, or it does not come

function newDesk() {
  const desk = {
    name: "", number: 0, answered: 0, edited: 0, shown: 0, wrong: false, bound: false,
    log: [], forms: new Set(), typing: new Set(), send: null, again: 0, plan: null, screen: "", leavingUntil: 0, held: false,
  };
  desk.say = () => {
    desk.held = desk.leaving(); // a message of the old screen would bring it back
    if (!desk.send || !desk.name || desk.held) return;
    clearTimeout(desk.again);
    desk.send({ desk: desk.name, log: desk.log, at: desk.number });
    desk.again = setTimeout(desk.sayAgain, AGAIN_AFTER_MS);
  };
  desk.leaving = () => performance.now() < desk.leavingUntil;
  desk.leave = () => (desk.leavingUntil = performance.now() + LEFT_BY_MS);
  desk.arrive = (screen) => {
    if (screen !== desk.screen) desk.leavingUntil = 0;
    desk.screen = screen;
  };
  desk.sayAgain = () => {
    if (!desk.log.length) return;
    const app = document.querySelector(".stApp");
    if (desk.leaving() || (app && app.dataset.testScriptState === "running")) desk.again = setTimeout(desk.sayAgain, AGAIN_AFTER_MS);
    else {
      desk.number += 1; // a message that says the same is not sent
      desk.say();
    }
  };
  const note = (...entries) => {
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
    return note({ act, ...more });
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
    if (!desk.log.length) clearTimeout(desk.again);
  };
  // Whether all that was typed is answered and shown, and nothing is on its way.
  desk.settled = () => {
    const app = document.querySelector(".stApp");
    return !desk.log.length && desk.edited <= desk.shown && app?.dataset.testScriptState !== "running";
  };
  desk.pale = () => {
    const old = !desk.bound || desk.typing.size > 0 || desk.edited > desk.shown || desk.wrong;
    document.body.classList.toggle("tissue-old", old);
  };
  return desk;
}

window.tissueDesk ??= newDesk();
