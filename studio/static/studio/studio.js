// Small comforts. Every page works without this file.
"use strict";

document.addEventListener("DOMContentLoaded", () => {
  prepare(document);
  document.querySelector(".error-summary")?.focus();
  const tab = document.querySelector(".tabs [aria-current]");
  if (tab) tab.closest("ul").scrollLeft = tab.offsetLeft - 60;
});

// Going back to a form keeps what makes its sending known again: saved once more, it acts once.
window.addEventListener("pageshow", () => {
  const marks = [...document.querySelectorAll('input[name="once"]')];
  const kept = history.state?.once;
  if (kept?.length === marks.length) marks.forEach((mark, place) => { mark.value = kept[place]; });
  else if (marks.length) history.replaceState({ ...history.state, once: marks.map((mark) => mark.value) }, "");
});

document.addEventListener("htmx:load", (event) => prepare(event.detail.elt));

function prepare(root) {
  for (const button of root.querySelectorAll("[data-stepper] button, [data-copy]")) button.hidden = false;
}

document.addEventListener("click", (event) => {
  const step = event.target.closest("[data-stepper] [data-by]");
  if (step) {
    const input = step.parentElement.querySelector("input");
    const least = input.min === "" ? -Infinity : Number(input.min);
    input.value = Math.max(least, (Number(input.value) || 0) + Number(step.dataset.by));
    input.dispatchEvent(new Event("change", { bubbles: true }));
  }
  const copy = event.target.closest("[data-copy]");
  if (copy) {
    const text = document.getElementById(copy.dataset.copy).textContent.trim();
    navigator.clipboard?.writeText(text).then(() => { copy.lastChild.textContent = "Copied"; });
  }
  for (const menu of document.querySelectorAll("details.who[open]")) {
    if (!menu.contains(event.target)) menu.open = false;
  }
});

document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  for (const menu of document.querySelectorAll("details.who[open]")) {
    menu.open = false;
    menu.querySelector("summary").focus();
  }
});

// A slash looks for something, wherever one is, unless one is typing.
document.addEventListener("keydown", (event) => {
  if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.target.closest("input, textarea, select, [contenteditable]")) return;
  const look = document.querySelector("a.look");
  if (look) { event.preventDefault(); location.assign(look.href); }
});

// A second tap on a form that is already on its way does nothing.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post") return;
  if (form.dataset.sent) { event.preventDefault(); return; }
  form.dataset.sent = "yes";
  for (const button of form.querySelectorAll("button[type=submit]")) button.setAttribute("aria-disabled", "true");
});
window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) {
    delete form.dataset.sent;
    for (const button of form.querySelectorAll("[aria-disabled]")) button.removeAttribute("aria-disabled");
  }
});

// An htmx request that fails leaves the page as it was, and says so.
for (const name of ["htmx:responseError", "htmx:sendError"]) {
  document.addEventListener(name, (event) => {
    const said = event.detail.xhr?.status === 409 ? event.detail.xhr.responseText : "";
    const note = document.createElement("p");
    note.className = "note-box is-bad";
    note.textContent = said || "That did not reach the studio. Check the connection and try again.";
    document.getElementById("messages")?.replaceChildren(note);
  });
}
document.addEventListener("htmx:afterRequest", (event) => {
  const form = event.detail.elt.closest?.("form");
  if (form) delete form.dataset.sent;
});
