// Follows what others do: when something has happened anywhere, the parts of the page marked `data-live` are fetched
// again and those that changed take their new shape.
//
// A part in which a person types, or has opened or begun a form, stays as it is until it is left. Scroll and focus stay.
"use strict";

(() => {
  const EVERY = 1200; // ms between two looks
  const SHARE = 4; // a page that took long to make is not asked for again before this many times as long
  const PATIENCE = 8000; // ms until an answer is no longer waited for
  const EDITED = "input:not([type=hidden], [type=submit]), textarea, select";
  let seen = document.body.dataset.seen;

  function isInUse(part) {
    if (part.contains(document.activeElement) && document.activeElement.matches(EDITED)) return true;
    const changed = (field) =>
      field.matches("select")
        ? [...field.options].some((option) => option.selected !== option.defaultSelected) && field.selectedIndex > 0
        : field.matches("[type=checkbox], [type=radio]")
          ? field.checked !== field.defaultChecked
          : field.value !== field.defaultValue;
    return [...part.querySelectorAll(EDITED)].some(changed) || part.querySelector("dialog[open]") !== null;
  }

  // Where the focus is, in words that find the same control in the new part.
  function nameOf(node) {
    if (node.id) return `#${CSS.escape(node.id)}`;
    const href = node.getAttribute("href");
    return href ? `a[href="${CSS.escape(href)}"]` : "";
  }

  function swap(old, fresh) {
    const focus = old.contains(document.activeElement) ? nameOf(document.activeElement) : "";
    const opened = [...old.querySelectorAll("details")].map((one) => one.open);
    const scrolled = [...old.querySelectorAll("*")].map((one, place) => [place, one.scrollTop, one.scrollLeft]);
    old.replaceWith(fresh);
    fresh.querySelectorAll("details").forEach((one, place) => (one.open = opened[place] ?? one.open));
    const all = fresh.querySelectorAll("*");
    for (const [place, top, left] of scrolled) if (top || left) all[place]?.scrollTo(left, top);
    if (focus) fresh.querySelector(focus)?.focus({ preventScroll: true });
    if (window.htmx) window.htmx.process(fresh);
  }

  async function renew() {
    const answer = await fetch(window.location.href, { signal: AbortSignal.timeout(PATIENCE), redirect: "manual" });
    if (!answer.ok) return false;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    let all = true;
    for (const old of document.querySelectorAll("[data-live]")) {
      const fresh = page.getElementById(old.id);
      if (!fresh || withoutTokens(fresh) === withoutTokens(old)) continue;
      if (isInUse(old)) all = false; // tried again at the next look
      else swap(old, document.adoptNode(fresh));
    }
    return all;
  }

  // Every page has another token in its forms: that alone is no change.
  const withoutTokens = (part) => part.outerHTML.replace(/name="csrfmiddlewaretoken" value="\w+"/g, "");

  async function look() {
    if (document.hidden) return;
    const address = new URL(document.body.dataset.live, window.location.href);
    address.searchParams.set("seen", seen);
    const answer = await fetch(address, { signal: AbortSignal.timeout(PATIENCE), redirect: "manual" });
    if (answer.status !== 200) return;
    const newest = await answer.text();
    if (await renew()) seen = newest;
  }

  async function follow() {
    const began = performance.now();
    await look().catch(() => {}); // no network, or a slow server: the next look comes
    setTimeout(follow, Math.max(EVERY, SHARE * (performance.now() - began)));
  }

  document.addEventListener("visibilitychange", () => look().catch(() => {}));
  if (document.querySelector("[data-live]")) setTimeout(follow, EVERY);
})();
