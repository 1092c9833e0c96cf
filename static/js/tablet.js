// What a station's page is as a thing on a tablet: its clock, whether it hears the scanner, its files for a reload
// without network.
"use strict";

(() => {
  function clock() {
    document.getElementById("clock").textContent = Away.hour(Date.now());
  }

  // A scanner types into the window in front: behind another one it is not heard.
  function hears(isHeard) {
    document.body.classList.toggle("is-deaf", !isHeard);
  }

  // Only over https or on this machine; elsewhere a reload without network shows nothing, but what is kept stays kept.
  async function register() {
    await navigator.serviceWorker.register(document.body.dataset.worker, { scope: "/station/" });
    const { active } = await navigator.serviceWorker.ready;
    const files = performance.getEntriesByType("resource").map((one) => one.name);
    active.postMessage({ keep: [window.location.href, ...files] });
  }

  setInterval(clock, 1000);
  clock();
  window.addEventListener("blur", () => hears(false));
  window.addEventListener("focus", () => hears(true));
  hears(document.hasFocus());
  if (navigator.serviceWorker) register().catch(() => {});
  navigator.storage?.persist?.().catch(() => {});
})();
