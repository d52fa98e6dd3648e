// The focus goes to what a step has brought, once for each turn and as soon as it is on the page: without it the focus
// falls to the page's beginning when the button that was pressed goes. Who has begun to write elsewhere is left there.
const LONGEST_MS = 4000, EACH_MS = 30;

export default function ({ data }) {
  if (!data.turn || window.tissueTurn === data.turn) return;
  window.tissueTurn = data.turn;
  const until = performance.now() + LONGEST_MS;
  const bring = () => {
    if (window.tissueTurn !== data.turn) return;
    const there = document.querySelector(`[data-turn="${data.turn}"]`);
    const busy = document.activeElement?.matches("input, textarea");
    if (there && !busy) there.focus({ preventScroll: false });
    else if (!there && performance.now() < until) setTimeout(bring, EACH_MS);
  };
  bring();
}
