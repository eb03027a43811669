// A table to type into: pasted cells fill down and right, keys move between them. Without this file
// it is a table of inputs.
"use strict";

const MOST_ROWS = 200;

document.addEventListener("DOMContentLoaded", () => {
  const more = document.querySelector("[data-more-rows]");
  if (!more) return;
  more.hidden = false;
  more.addEventListener("click", () => {
    const rows = document.querySelector("[data-cells] tbody");
    const first = addRow(rows);
    for (let made = 1; made < 5; made += 1) addRow(rows);
    first?.querySelector("[data-column]").focus();
  });
});

// Cells of a spreadsheet: tabs part them, line breaks part rows, and a cell with either is quoted.
function blockOf(text) {
  const rows = [[]];
  const cell = /("(?:[^"]|"")*"|[^\t\r\n]*)(\t|\r\n|\r|\n|$)/gy;
  for (let found = cell.exec(text); found; found = cell.exec(text)) {
    const words = found[1].startsWith('"') && found[1].length > 1 ? found[1].slice(1, -1).replaceAll('""', '"') : found[1];
    rows.at(-1).push(words.replace(/\s+/g, " ").trim());
    if (found[2] === "") break;
    if (found[2] !== "\t") rows.push([]);
  }
  while (rows.length && rows.at(-1).every((words) => words === "")) rows.pop();
  return rows;
}

function addRow(rows) {
  if (rows.rows.length >= MOST_ROWS) return null;
  const row = rows.rows[rows.rows.length - 1].cloneNode(true);
  for (const extra of row.querySelectorAll("[type=hidden], .field-error, .is-fixed")) extra.remove();
  for (const field of row.querySelectorAll("[data-column]")) {
    field.name = field.name.replace(/\d+/, rows.rows.length);
    field.id = field.name;
    field.value = "";
    field.removeAttribute("aria-invalid");
    field.removeAttribute("aria-describedby");
  }
  const total = rows.closest("form").querySelector("[name$=TOTAL_FORMS]");
  if (total) total.value = rows.rows.length + 1;
  rows.append(row);
  return row;
}

// A choice takes its value or its words, or one word of them; what fits none is kept to be asked about.
function put(field, words) {
  if (field.tagName !== "SELECT") { field.value = words; return; }
  const word = words.toLowerCase();
  const options = [...field.options].filter((option) => option.value);
  const named = options.filter((option) => option.text.toLowerCase().split(/[^\p{L}]+/u).includes(word));
  const found = options.find((option) => [option.value, option.text.toLowerCase()].includes(word)) ?? (named.length === 1 ? named[0] : null);
  if (!found && words) field.add(new Option(words, words));
  field.value = found ? found.value : words;
}

document.addEventListener("paste", (event) => {
  const start = event.target.closest("[data-cells] [data-column]");
  if (!start) return;
  const block = blockOf(event.clipboardData.getData("text/plain"));
  const rows = start.closest("tbody");
  const headings = [...start.closest("table").tHead.rows[0].cells].map((cell) => cell.textContent.toLowerCase());
  if (block.length && block[0].every((words) => headings.includes(words.toLowerCase()))) block.shift();
  if (block.length < 2 && (block[0]?.length ?? 0) < 2 && start.tagName !== "SELECT") return;
  event.preventDefault();
  const [down, right] = [start.closest("tr").sectionRowIndex, start.closest("td").cellIndex];
  block.forEach((words, step) => {
    const row = rows.rows[down + step] ?? addRow(rows);
    words.forEach((text, place) => {
      const field = row?.cells[right + place]?.querySelector("[data-column]");
      if (field) put(field, text);
    });
  });
});

document.addEventListener("keydown", (event) => {
  const field = event.target.closest?.("[data-cells] [data-column]");
  if (!field || event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
  const isChoice = field.tagName === "SELECT";
  const ways = { Enter: [1, 0], ArrowDown: [1, 0], ArrowUp: [-1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] };
  const way = ways[event.key];
  if (!way || (isChoice && /Down|Up/.test(event.key))) return;
  if (event.key === "Enter" && event.shiftKey) way[0] = -1;
  else if (event.shiftKey) return;
  const atEnd = isChoice || (field.selectionStart === field.selectionEnd && field.selectionStart === (way[1] < 0 ? 0 : field.value.length));
  if (way[1] && !atEnd) return;
  if (event.key !== "Enter" && !isChoice && field.list && way[0] && field.value === "") return;
  event.preventDefault();
  const row = field.closest("tr");
  const rows = row.closest("tbody").rows;
  const next = rows[row.sectionRowIndex + way[0]]?.cells[field.closest("td").cellIndex + way[1]]?.querySelector("[data-column]");
  next?.focus();
  next?.select?.();
});
