// Says when no change has come for a moment, so that slow work never delays a key press.
const QUIET_MS = 300;

export default function ({ data, parentElement, setTriggerValue }) {
  const place = parentElement.querySelector(".tissue-quiet");
  if (!place) return;
  clearTimeout(place.tissueSaying);
  const say = () => window.tissueDesk.inTurn(place, () => setTriggerValue("quiet", data.eye));
  if (data.wanted) sayWhenFree(place, say, patient(QUIET_MS));
}
