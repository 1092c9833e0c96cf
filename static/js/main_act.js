// When the main act of a screen may be taken: one press must never do two things.
//
// Enter counts, and counts again, for Undo takes counts back. It never leads on to anything else: where Enter was the
// last press, another act stands under G, and so does the count of another size or piece, which then says so first. So
// an impatient hand, or a scanner that sends Enter twice, finishes and opens nothing. After G, a touch, a scan or any
// other key it is Enter again. A touch is dead for a moment after a screen has changed, and longer where a second touch
// on the same place would do something else.
"use strict";

const MainAct = (() => {
  const DEAD = 400; // ms after a change of screen in which nobody has read it yet
  const DEAD_FOR_OTHERS = 1000; // ms in which a second touch on the same place is not meant for another act
  const PLACE = 120; // pixels, 20 mm on a tablet: touches no farther apart are on the same place
  const OTHER_KEY = "g";

  let hand = {}; // what was pressed last: {key}, or {x, y} of a touch
  let last = {}; // by which hand the last act was taken, whether it counted, and the size that was counted last
  let isTurned = false; // the screen is of another size
  let appearedAt = performance.now();

  window.addEventListener("keydown", ({ key }) => (hand = { key }), true);
  window.addEventListener("pointerdown", ({ clientX: x, clientY: y }) => (hand = { x, y }), true);

  const counts = (form) => form?.dataset.keeps === "count";
  const isRepeat = (form) => last.counts && counts(form) && !isTurned;
  const isSamePlace = () => Math.hypot(hand.x - last.hand?.x, hand.y - last.hand?.y) < PLACE; // keys have none

  const sizeOn = (screen) => screen?.querySelector("template[data-size]")?.innerHTML;
  const actOn = (screen, key) => screen.querySelector(`[data-key="${key}"]`);

  // Says that another size or piece has come, and which one it is no more.
  function turn(screen) {
    const words = screen.querySelector("template[data-turn]");
    isTurned = Boolean(words && last.size) && last.size !== sizeOn(screen);
    screen.querySelector(".st-turn")?.remove();
    if (!isTurned) return;
    const note = words.content.firstElementChild.cloneNode(true);
    note.querySelector("del").innerHTML = last.size;
    words.after(note);
  }

  // A screen takes the place of another one, or stays after an act that was kept here.
  function appear(screen) {
    appearedAt = performance.now();
    turn(screen);
    const act = actOn(screen, "Enter") || actOn(screen, OTHER_KEY);
    if (!act) return;
    const ledHere = last.hand?.key === "Enter" && !isRepeat(act.form);
    act.dataset.key = ledHere ? OTHER_KEY : "Enter";
    act.querySelector(".st-key").textContent = ledHere ? OTHER_KEY.toUpperCase() : "Enter";
  }

  // Why Enter does nothing on a screen, "" where it stands under no other key.
  function noEnter(screen) {
    if (!actOn(screen, OTHER_KEY)?.checkVisibility()) return "";
    return `Enter does nothing here now. The key is ${OTHER_KEY.toUpperCase()}.`;
  }

  // Returns whether a form or a link that was pressed is done, and keeps by what.
  function takes(target) {
    const dead = isSamePlace() && !isRepeat(target) ? DEAD_FOR_OTHERS : DEAD;
    if (target.dataset.act === "main" && performance.now() - appearedAt < dead) return false;
    const size = counts(target) ? sizeOn(target.closest("#screen")) : last.size;
    last = { hand, counts: counts(target), size };
    return true;
  }

  // A scan is meant for what comes after it.
  function scanned() {
    last = {};
  }

  return { appear, noEnter, takes, scanned };
})();
