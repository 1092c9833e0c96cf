// Large keys for digits: they type into the field of digits that has the focus, else into the first one of their form.
//
// Without this script the keys are not shown, and the field takes what a keyboard types.
"use strict";

(() => {
  const FIELD = "input[data-digits]";

  function fieldOf(form) {
    const now = document.activeElement;
    return form.contains(now) && now.matches(FIELD) ? now : form.querySelector(FIELD);
  }

  function focusAgain() {
    const field = document.querySelector(`#screen ${FIELD}`);
    // digits typed into nothing would be taken for a scan
    if (field && !document.activeElement.matches(`${FIELD}, a, button`)) field.focus();
  }

  document.body.classList.add("has-keys");

  // the keys leave the focus in the field, and no keyboard of the tablet covers them
  document.addEventListener("mousedown", (event) => event.target.closest("[data-digit]") && event.preventDefault());
  document.addEventListener("focusin", (event) => {
    if (event.target.matches(FIELD)) event.target.inputMode = "none";
  });

  document.addEventListener("click", (event) => {
    const key = event.target.closest("[data-digit]");
    if (!key) return focusAgain();
    const field = fieldOf(key.form);
    const digit = key.dataset.digit;
    if (digit === "back") field.value = field.value.slice(0, -1);
    else if (field.value.length < field.maxLength) field.value += digit;
    field.focus();
  });
})();
