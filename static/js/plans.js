/* Keys of a plan: J K a block (or a row of the list where the focus is), Space keeps a block, R plans again, U uses a
   remnant first, X leaves an order out, B says why the bound. The ticks are the page's own form and work without this.

   A plan takes seconds: a button that starts one says so in words, and is pressed once. */
"use strict";

(() => {
  const QUIET = 70; // ms without another key before and after: a scanner types faster, and its letters ask for nothing
  const all = (what) => [...document.querySelectorAll(what)];
  const around = (what) => document.activeElement.closest(what);

  /* Up and down: the rows of a list while the focus is in it, else the blocks. */
  function step(by) {
    const list = around("[data-rows]");
    const stops = list ? [...list.querySelectorAll("tr td:first-child input")] : all("[data-block]");
    const at = stops.indexOf(list ? around("tr").querySelector("input") : around("[data-block]"));
    const next = at < 0 ? (by > 0 ? 0 : stops.length - 1) : Math.min(Math.max(at + by, 0), stops.length - 1);
    stops[next]?.focus();
  }

  /* Tick what has the focus, or go to the first of its kind. */
  function tick(name, where) {
    const input = around(where)?.querySelector(`input[name="${name}"]`);
    if (input) input.click();
    else document.querySelector(`${where} input[name="${name}"]`)?.focus();
  }

  const KEYS = {
    j: () => step(1),
    k: () => step(-1),
    " ": () => around("[data-block]").querySelector('input[name="keep"]')?.click(),
    r: () => document.querySelector("[data-again]")?.click(),
    u: () => tick("first", "#rack tr"),
    x: () => tick("order", "#orders tr"),
    b: () => document.getElementById("why")?.focus(),
  };

  const writes = (node) => node.matches("select, textarea, input:not([type='checkbox'])");
  const isFor = (key, node) => key in KEYS && !writes(node) && (key !== " " || node.matches("[data-block]"));
  let waiting = 0;
  let last = -Infinity;

  document.addEventListener("keydown", (event) => {
    const amidOthers = event.timeStamp - last < QUIET; // the last letter of a scan too
    last = event.timeStamp;
    clearTimeout(waiting);
    const key = event.key.toLowerCase();
    if (event.ctrlKey || event.metaKey || event.altKey || event.isComposing || !isFor(key, event.target)) return;
    event.preventDefault();
    if (!amidOthers) waiting = setTimeout(KEYS[key], QUIET);
  }, true);

  /* What stays shut is not opened: one tick takes the other away. */
  document.addEventListener("change", ({ target }) => {
    if (target.form?.id !== "again") return;
    const others = { keep: ["out"], first: ["out"], out: ["keep", "first"] }[target.name] ?? [];
    for (const input of all('[form="again"]')) {
      if (target.checked && others.includes(input.name) && input.value === target.value) input.checked = false;
    }
    sayAsked();
  });

  /* What the next plan is asked, in a few words beside its button. */
  function sayAsked() {
    const place = document.querySelector("[data-asked]");
    if (!place) return;
    const ticked = (name, on) => all(`[form="again"][name="${name}"]`).filter((input) => input.checked === on);
    const words = [["keep", true, "kept"], ["out", true, "shut"], ["first", true, "first"], ["order", false, "left out"]];
    const said = words.map(([name, on, word]) => [ticked(name, on).map((input) => input.value), word]);
    place.textContent = said.filter(([values]) => values.length).map(([values, word]) => `${values.join(", ")} ${word}`).join(" · ");
  }

  document.addEventListener("DOMContentLoaded", sayAsked);

  document.addEventListener("submit", (event) => {
    const button = event.target.querySelector("[data-working]");
    if (!button) return;
    const began = performance.now();
    const say = () => {
      button.textContent = `${button.dataset.working}, ${Math.round((performance.now() - began) / 1000)} s`;
    };
    // after the form is on its way: a disabled button is not sent
    setTimeout(() => {
      button.disabled = true;
      say();
      setInterval(say, 1000);
    });
  });
})();
