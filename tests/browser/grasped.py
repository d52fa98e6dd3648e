"""Handles in the page: where one is grasped, and what is seen of its line in every frame of a drag."""

# In every frame: how far the line stands from where the hand has it, across and down [px], and whether it is seen.
WATCH = """
(label) => {
  const slider = document.querySelector(`[role=slider][aria-label='${label}']`);
  const node = slider.closest('.tissue-chart').querySelector('.plot');
  const item = [...node.tissue.items.values()].find((one) => one.grips[0] === slider);
  const middle = () => { const box = slider.getBoundingClientRect(); return [box.x + 12, box.y + 12]; };
  const frames = (window.frames_seen = []);
  let hand = null, held = false;
  window.addEventListener('pointerdown', ({ clientX, clientY }) => {
    held = true;
    hand = [clientX, clientY];
  }, true);
  window.addEventListener('pointermove', ({ clientX, clientY }) => { hand = [clientX, clientY]; }, true);
  window.addEventListener('pointerup', () => { held = false; }, true);
  const look = () => {
    if (held) {
      const [x, y] = middle();
      const shown = (one) => getComputedStyle(one).visibility === 'visible' && one.getTotalLength() > 3;
      const moving = document.body.classList.contains('tissue-moving');
      const clear = !moving || getComputedStyle(document.querySelector('.stMainBlockContainer')).opacity === '1';
      const seen = item.lines.every(shown) && clear; // nothing is pale that follows the hand in time
      frames.push([seen, Math.abs(x - hand[0]), Math.abs(y - hand[1])]);
    }
    requestAnimationFrame(look);
  };
  look();
}
"""

# In what order pictures and figures of a drag come: ['figures' or 'picture', the value that they are for].
ORDER = """
(label) => {
  const slider = document.querySelector(`[role=slider][aria-label='${label}']`);
  const node = slider.closest('.tissue-chart').querySelector('.plot');
  const item = [...node.tissue.items.values()].find((one) => one.grips[0] === slider);
  const came = (window.order_seen = []);
  const drawn = () => came.push(['picture', item.spec.values.join()]);
  new MutationObserver(drawn).observe(node, { attributes: true, attributeFilter: ['data-drawn'] });
  const said = () => came.push(['figures', document.querySelector('.moved')?.textContent.match(/→ ([\\d.]+)/)?.[1]]);
  new MutationObserver(said).observe(document.body, { childList: true, subtree: true, characterData: true });
}
"""


def slider(page, label):
    """The handle of that name."""
    return page.get_by_role("slider", name=label, exact=True)


def middle(page, label):
    """Where a handle is grasped [px]; one that the page's foot covers is scrolled out from under it first."""
    slider(page, label).evaluate("one => one.scrollIntoView({ block: 'center' })")
    box = slider(page, label).bounding_box()
    return box["x"] + box["width"] / 2.0, box["y"] + box["height"] / 2.0
