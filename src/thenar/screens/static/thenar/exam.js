// The examination grid from the keyboard: a digit grades and moves on, 0 under extent clears the area.
// Keys count only while a cell has the focus. Without this script the cells are plain boxes.
(() => {
  const grid = document.querySelector("[data-exam-grid]");
  if (!grid) return;
  const rows = [...grid.querySelectorAll("tbody tr")]
    .map((row) => [...row.querySelectorAll("input")])
    .filter((cells) => cells.length);
  const cells = rows.flat();
  const said = document.querySelector("[data-exam-said]");
  let before = null;

  const placeOf = (cell) => cells.indexOf(cell);
  const rowOf = (cell) => rows.find((row) => row.includes(cell));
  const isExtent = (cell) => rowOf(cell)[0] === cell;

  function go(place) {
    // Past the last cell on to the tick beneath, not to the buttons that would clear what was just graded.
    (cells[place] ?? document.getElementById("id_hard_to_judge"))?.focus();
  }

  function show() {
    for (const cell of cells) {
      const grade = Number(cell.value);
      cell.classList.toggle("is-graded", grade > 0);
    }
    for (const row of rows) row[0].closest("tr").classList.toggle("is-clear", row.every((cell) => cell.value === "0"));
    grid.dispatchEvent(new CustomEvent("graded", { bubbles: true }));
  }

  function fillRow(row, value) {
    for (const cell of row) cell.value = value;
  }

  function fill(how) {
    const from = how === "last" ? (cell) => cell.dataset.last : () => "0";
    if (how === "last" && cells[0].dataset.last === undefined) return say("There is no last time.");
    before = cells.map((cell) => cell.value);
    for (const cell of cells) cell.value = from(cell);
    say(how === "last" ? "Filled in as last time. U undoes it." : "All cleared. U undoes it.");
    show();
  }

  function undo() {
    if (!before) return;
    cells.forEach((cell, place) => (cell.value = before[place]));
    before = null;
    say("Undone.");
    show();
  }

  function say(words) {
    if (said) said.textContent = words;
  }

  function clearArea(cell) {
    const row = rowOf(cell);
    fillRow(row, "0");
    show();
    go(placeOf(row.at(-1)) + 1);
  }

  // What was typed arrives here on every keyboard, also on a phone's.
  grid.addEventListener("input", (event) => {
    const cell = event.target;
    const typed = cell.value.slice(-1);
    if (typed === "." || typed === ",") return clearArea(cell);
    if (/^[0-9]$/.test(typed) && Number(typed) <= Number(cell.dataset.most)) {
      cell.value = typed;
      if (typed === "0" && isExtent(cell)) return clearArea(cell);
      show();
      return go(placeOf(cell) + 1);
    }
    cell.value = "";
    show();
  });

  // What is no grade never reaches the box, so that a slip doesn't wipe what stands there.
  grid.addEventListener("beforeinput", (event) => {
    const key = (event.data ?? "").toLowerCase();
    const most = Number(event.target.dataset.most);
    if (!key || key === "." || key === "," || (/^[0-9]$/.test(key) && Number(key) <= most)) return;
    event.preventDefault();
    if (key === "l") fill("last");
    else if (key === "c") fill("clear");
    else if (key === "u") undo();
    else say(`${key} is not a grade here: 0 to ${most}.`);
  });

  grid.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const place = placeOf(event.target);
    const across = rows[0].length;
    const moves = { ArrowRight: 1, ArrowLeft: -1, ArrowDown: across, ArrowUp: -across };
    if (event.key in moves) {
      event.preventDefault();
      if (cells[place + moves[event.key]]) go(place + moves[event.key]);
    } else if (event.key === "Backspace" && event.target.value === "" && place > 0) {
      event.preventDefault();
      go(place - 1);
    }
  });

  grid.addEventListener("focusin", (event) => event.target.select?.());

  for (const button of document.querySelectorAll("[data-exam-fill]")) {
    button.addEventListener("click", (event) => {
      event.preventDefault();
      fill(button.dataset.examFill);
    });
  }

  // A grid that comes filled in is scored as soon as the page listens.
  if (cells.some((cell) => cell.value)) window.addEventListener("load", show);
  if ("examFocus" in grid.dataset && !document.querySelector(".error-summary")) cells[0].focus({ preventScroll: true });
})();
