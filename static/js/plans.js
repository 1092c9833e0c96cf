// A plan takes seconds: the button says so in words, and is pressed once.
"use strict";

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
