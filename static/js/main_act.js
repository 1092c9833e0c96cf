// When the main act of a screen may be taken: one press must never do two things.
//
// Enter counts, and counts again, for Undo takes counts back. It never leads on to anything else: where Enter was the
// last press, another act stands under G. So an impatient hand, or a scanner that sends Enter twice, finishes and opens
// nothing. After G, a touch, a scan or any other key it is Enter again. A touch is dead for a moment after a screen has
// changed, and longer where a second touch on the same place would do something else.
"use strict";

const MainAct = (() => {
  const DEAD = 400; // ms after a change of screen in which nobody has read it yet
  const DEAD_FOR_OTHERS = 1000; // ms in which a second touch on the same place is not meant for another act
  const PLACE = 120; // pixels, 20 mm on a tablet: touches no farther apart are on the same place
  const OTHER_KEY = "g";

  let hand = {}; // what was pressed last: {key}, or {x, y} of a touch
  let last = {}; // by which hand the last act was taken, and whether it counted
  let appearedAt = performance.now();

  window.addEventListener("keydown", ({ key }) => (hand = { key }), true);
  window.addEventListener("pointerdown", ({ clientX: x, clientY: y }) => (hand = { x, y }), true);

  const counts = (form) => form?.dataset.keeps === "count";
  const isRepeat = (form) => last.counts && counts(form);
  const isSamePlace = () => Math.hypot(hand.x - last.hand?.x, hand.y - last.hand?.y) < PLACE; // keys have none

  // A screen takes the place of another one.
  function appear(screen) {
    appearedAt = performance.now();
    const act = screen.querySelector('[data-key="Enter"]');
    if (!act || last.hand?.key !== "Enter" || isRepeat(act.form)) return;
    act.dataset.key = OTHER_KEY;
    act.querySelector(".st-key").textContent = OTHER_KEY.toUpperCase();
  }

  // Returns whether a form or a link that was pressed is done, and keeps by what.
  function takes(target) {
    const dead = isSamePlace() && !isRepeat(target) ? DEAD_FOR_OTHERS : DEAD;
    if (target.dataset.act === "main" && performance.now() - appearedAt < dead) return false;
    last = { hand, counts: counts(target) };
    return true;
  }

  // A scan is meant for what comes after it.
  function scanned() {
    last = {};
  }

  return { appear, takes, scanned };
})();
