// A press on a shape ticks its box where the finger is: the page doesn't jump to the list below.
// Without this script the shape's label ticks the box all the same.
document.addEventListener("click", (press) => {
  const spot = press.target.closest?.("[data-hand-map] .hand-map__spot");
  if (!spot) return;
  press.preventDefault();
  const box = spot.control;
  if (!box || box.disabled) return;
  box.checked = !box.checked;
  box.dispatchEvent(new Event("input", { bubbles: true }));
  box.dispatchEvent(new Event("change", { bubbles: true }));
});
