// Moves the focus to the content that a step has brought, once for each turn, as soon as it is on the page. Without it the focus
// would go to the beginning of the page when the pressed button disappears. Whoever has begun to type elsewhere stays there.
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
