"use strict";
// A finding and its place on the drawing light up together; the filter says how much it shows. The page reads without.
const ties = new Map();
for (const row of document.querySelectorAll("tr[data-mark]")) {
  const mark = document.getElementById(row.dataset.mark);
  ties.set(row, [mark]);
  ties.set(mark, mark.dataset.rows.split(" ").map((id) => document.getElementById(id)));
}
for (const [thing, others] of ties) {
  const light = (on) => () => others.forEach((other) => other.classList.toggle("on", on));
  for (const event of ["focusin", "pointerenter"]) thing.addEventListener(event, light(true));
  for (const event of ["focusout", "pointerleave"]) thing.addEventListener(event, light(false));
}
const rows = [...document.querySelectorAll(".findings tbody tr")];
document.querySelector(".filter").addEventListener("change", () => {
  const shown = rows.filter((row) => row.getClientRects().length > 0).length;
  document.getElementById("shown").textContent = `${shown} of ${rows.length} findings are shown.`;
});
