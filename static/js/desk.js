/* Keys of the office pages. Everything works without this file; nothing here decides anything.

   / find · G then a letter goes to a page · J K up and down a ledger · Ctrl S, F4, Ctrl Enter … press the element that
   names the key in data-key · a scan while typing goes to the find field, and what was typed stays. */
"use strict";

(() => {
  const SCAN_GAP = 40; // ms between keys: faster than a person types
  const SCAN_LEAST = 5; // characters: shorter bursts are typing

  const find = () => document.querySelector("[data-find]");
  const typing = (node) => node.closest && node.closest("input, select, textarea, [contenteditable]") !== null;

  let goWaits = false;

  function nameOf(event) {
    const parts = [];
    if (event.ctrlKey || event.metaKey) parts.push("Ctrl");
    if (event.shiftKey && event.key.length > 1) parts.push("Shift");
    const key = event.key === " " ? "Space" : event.key.replace("Arrow", "");
    parts.push(key.length === 1 ? key.toLowerCase() : key);
    return parts.join("+");
  }

  /* In a row of a form its own keys come first. */
  function pressNamed(name) {
    const row = document.activeElement.closest("[data-row]");
    const named = [...(row?.querySelectorAll("[data-key]") ?? []), ...document.querySelectorAll("[data-key]")];
    const target = named.find((node) => node.dataset.key === name);
    if (!target || target.disabled) return false;
    if (target.matches("a, button, summary")) target.click();
    else target.focus();
    return true;
  }

  function step(by) {
    const links = [...document.querySelectorAll(".ledger tbody .go a")];
    if (!links.length) return;
    const at = links.indexOf(document.activeElement);
    const next = at < 0 ? (by > 0 ? 0 : links.length - 1) : Math.min(Math.max(at + by, 0), links.length - 1);
    links[next].focus();
  }

  function go(letter) {
    const way = document.querySelector(`[data-go="${CSS.escape(letter)}"]`);
    if (way) way.click();
    return way !== null;
  }

  function plainKey(event) {
    if (goWaits) {
      goWaits = false;
      return go(event.key.toLowerCase());
    }
    if (event.key === "/") {
      const field = find();
      if (!field) return false;
      field.focus();
      field.select();
      return true;
    }
    if (event.key === "g") {
      goWaits = true;
      window.setTimeout(() => { goWaits = false; }, 1500);
      return true;
    }
    if (event.key === "j" || event.key === "k") {
      step(event.key === "j" ? 1 : -1);
      return true;
    }
    return pressNamed(nameOf(event));
  }

  document.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || event.altKey || event.isComposing) return;
    const named = event.ctrlKey || event.metaKey || /^F\d+$/.test(event.key);
    const done = named ? pressNamed(nameOf(event)) : !typing(event.target) && plainKey(event);
    if (done) event.preventDefault();
  });

  /* Esc leaves a field as it was when it was entered. */
  let entered = null;

  document.addEventListener("focusin", (event) => {
    entered = event.target.matches("input, textarea") ? { node: event.target, text: event.target.value } : null;
  });

  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !entered || event.target !== entered.node) return;
    if (entered.node.value !== entered.text) {
      entered.node.value = entered.text;
      entered.node.dispatchEvent(new Event("input", { bubbles: true }));
    }
    entered.node.blur();
  });

  /* A scan: a burst of keys that ends with Enter or Tab. Out of a field only a whole code of ours is taken, and the field
     gets its old text back: what a fast typist writes stays. */
  let burst = [];
  let last = 0;
  let kept = null;

  function ended(event) {
    const isBurst = event.timeStamp - last < 2 * SCAN_GAP && burst.length >= SCAN_LEAST;
    const text = isBurst ? Wedge.reading(burst) : "";
    burst = [];
    const isCode = Wedge.isWhole(text);
    if (!find() || !(isCode || (text && !kept && event.key === "Enter"))) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    if (kept) kept.node.value = kept.text;
    find().value = text;
    find().form.requestSubmit();
  }

  document.addEventListener("keydown", (event) => {
    if (event.target === find() || event.ctrlKey || event.metaKey || event.altKey || event.repeat) return;
    if (event.key === "Enter" || event.key === "Tab") ended(event);
    if (event.key.length !== 1) return;
    if (event.timeStamp - last > SCAN_GAP) {
      burst = [];
      kept = typing(event.target) && "value" in event.target ? { node: event.target, text: event.target.value } : null;
    }
    burst.push({ key: event.key, code: event.code });
    last = event.timeStamp;
  }, true);

  /* Rows that repeat (runs, frames, pieces): one more row, with its numbers raised, from the <template> beside it. */
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-add-row]");
    if (!button) return;
    event.preventDefault();
    const prefix = button.dataset.addRow;
    const total = document.getElementById(`id_${prefix}-TOTAL_FORMS`);
    const template = document.getElementById(`${prefix}-row`);
    const holder = document.createElement("div");
    holder.append(template.content.cloneNode(true));
    holder.innerHTML = holder.innerHTML.replaceAll("__prefix__", total.value);
    const row = holder.firstElementChild;
    document.getElementById(`${prefix}-rows`).append(row);
    total.value = Number(total.value) + 1;
    if (window.htmx) window.htmx.process(row);
    row.querySelector("input, select").focus();
  });

  /* Fields that belong to a choice (`data-for="build:shells post:square"`): the others stay out of sight and are not sent. */
  function showParts(form) {
    const made = (condition) => {
      const [name, value] = condition.split(":");
      return form.elements[name]?.value === value;
    };
    for (const part of form.querySelectorAll("[data-for]")) {
      part.hidden = !part.dataset.for.split(" ").every(made);
      for (const field of part.querySelectorAll("input, select, textarea, button")) field.disabled = part.hidden;
    }
  }

  function showAll() {
    const choices = document.querySelectorAll("[data-shows]");
    for (const form of new Set([...choices].map((select) => select.form))) showParts(form);
  }

  /* A profile brings its usual foam and coat along, into fields that nobody filled. */
  function fillUsual(select) {
    const usual = select.selectedOptions[0]?.dataset ?? {};
    for (const [name, value] of Object.entries(usual)) {
      const field = select.form.elements[name];
      if (field && !field.value) field.value = value;
    }
  }

  document.addEventListener("change", (event) => {
    if (event.target.matches("[data-shows]")) showParts(event.target.form);
    if (event.target.matches("[data-fills]")) fillUsual(event.target);
  });

  function begin() {
    showAll();
    const wrong = document.querySelector("[aria-invalid='true']");
    if (wrong) wrong.focus();
  }

  document.addEventListener("DOMContentLoaded", begin);
  document.addEventListener("htmx:afterSwap", showAll);

  /* Live figures: old ones stay, in pencil, until the new are there. */
  document.addEventListener("htmx:beforeRequest", (event) => event.detail.target.classList.add("stale"));
  document.addEventListener("htmx:afterRequest", (event) => event.detail.target.classList.remove("stale"));
})();
