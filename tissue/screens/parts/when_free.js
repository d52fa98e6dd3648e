// A message that the page sends by itself makes the server draw the screen again: while another screen is on its way it would bring
// this one back, and a dialog that was just opened would close. So it waits until neither is the case.
const AFTER_LINK_MS = 3000, AFTER_BUTTON_MS = 1000, STILL_MS = 300;

if (!window.tissueWatched) {
  window.tissueWatched = true;
  const clicked = ({ target }) => {
    const wait = target.closest?.("a[href]") ? AFTER_LINK_MS : target.closest?.("button") ? AFTER_BUTTON_MS : 0;
    if (wait) window.tissueFreeAt = performance.now() + wait;
  };
  document.addEventListener("click", clicked, true);
}

// Work that can wait waits longer on a busy machine, judged by the time from the last change to its picture: then several
// pages at once keep the server busy with pictures, not with what follows them.
const TIMES_THE_ANSWER = 4, LONGEST_MS = 5000;

function answered() {
  if (window.tissueSentAt) window.tissueAnswerMs = performance.now() - window.tissueSentAt;
  window.tissueSentAt = null;
}

const patient = (wait) => Math.max(wait, Math.min(LONGEST_MS, TIMES_THE_ANSWER * (window.tissueAnswerMs ?? 0)));

function sayWhenFree(node, say, wait) {
  clearTimeout(node.tissueSaying);
  node.tissueSaying = setTimeout(() => {
    if (!node.isConnected) return;
    const open = document.querySelector("[role=dialog]");
    const leaving = window.tissueDesk?.leaving() ? STILL_MS : 0;
    const left = Math.max(leaving, (window.tissueFreeAt ?? 0) - performance.now(), open ? STILL_MS : 0);
    if (left > 0) sayWhenFree(node, say, left);
    else say();
  }, wait);
}

