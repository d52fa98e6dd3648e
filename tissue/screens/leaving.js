// What the page says by itself while another screen is on its way would bring this one back: it waits until that is there.
const LEAVING_MS = 3000;

if (!window.tissueWatched) {
  window.tissueWatched = true;
  const left = ({ target }) => target.closest?.("a[href]") && (window.tissueLeft = performance.now());
  document.addEventListener("click", left, true);
}

function unlessLeaving(node, say) {
  const since = performance.now() - (window.tissueLeft ?? -LEAVING_MS);
  if (since >= LEAVING_MS) return say();
  setTimeout(() => node.isConnected && say(), LEAVING_MS - since);
}

