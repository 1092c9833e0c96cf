// Short sounds made by the browser, no files. Every sound has its screen: nothing is said by a sound alone.
"use strict";

const Sounds = (() => {
  const LOUDNESS = 0.25;
  // [hertz, milliseconds, hertz at the end, wave]
  const NOTES = {
    accepted: [[880, 60], [1320, 60]],
    tick: [[1000, 30]],
    finished: [[660, 90], [880, 90], [1100, 90]],
    old: [[180, 250, 180, "square"], [180, 250, 180, "square"]],
    held: [[440, 600]],
    unknown: [[220, 80], [220, 80], [220, 80]],
    elsewhere: [[880, 300, 440]],
    inhand: [[520, 120], [520, 120], [780, 240]],
    cancelled: [[180, 500, 90, "square"]],
    nothing: [[1100, 90], [880, 90], [660, 90]],
    foam: [[330, 120, 330, "square"], [250, 120, 250, "square"], [330, 120, 330, "square"]],
    piece: [[300, 160], [240, 240]],
  };
  const GAP = 0.05; // seconds between two notes
  let context = null;

  function play(name) {
    if (!NOTES[name] || !window.AudioContext) return;
    context = context || new AudioContext();
    let at = context.currentTime;
    for (const [from, length, to = from, wave = "sine"] of NOTES[name]) {
      const tone = context.createOscillator();
      const gain = context.createGain();
      tone.type = wave;
      tone.frequency.setValueAtTime(from, at);
      tone.frequency.linearRampToValueAtTime(to, at + length / 1000);
      gain.gain.value = LOUDNESS;
      tone.connect(gain).connect(context.destination);
      tone.start(at);
      tone.stop(at + length / 1000);
      at += length / 1000 + GAP;
    }
  }

  return { play };
})();
