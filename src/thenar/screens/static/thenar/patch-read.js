// Grades from the keyboard: one key grades a position and goes on to the next. Without this script the rows
// are plain choices.
(() => {
  const table = document.querySelector("[data-patch-read]");
  if (!table) return;
  const KEYS = { 0: "-", "-": "-", "?": "?+", 1: "+", 2: "++", 3: "+++", i: "IR", n: "NT", ".": "" };
  const rows = [...table.querySelectorAll("tbody tr")].map((row) => [...row.querySelectorAll("input")]);

  function enter(row) {
    const next = row && (row.find((choice) => choice.checked) ?? row[0]);
    (next ?? document.querySelector("#id_open_positions input"))?.focus();
  }

  table.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const grade = KEYS[event.key.toLowerCase()];
    const place = rows.findIndex((row) => row.includes(event.target));
    if (grade === undefined || place < 0) return;
    const chosen = rows[place].find((choice) => choice.value === grade);
    if (!chosen) return;
    chosen.checked = true;
    event.preventDefault();
    enter(rows[place + 1]);
  });
})();
