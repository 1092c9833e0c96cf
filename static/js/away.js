// What a station's screen says while acts are kept: the bar, the figures with what is kept here, Undo of what is kept.
//
// A screen names the row that it counts (`data-row="blank-12"`) and what the server knows of it (`data-left`,
// `data-done`, `data-due`); what follows the count names itself by `data-figure`.
"use strict";

const Away = (() => {
  const NAMES = { scan: "scan", start: "start", pause: "pause" }; // of a kept act; everything else is a count
  const TAPE = 288; // units of its length
  // What is said where something is left, but nothing of it here.
  const RUN_OUT = {
    sawn: "No more comes out of what is open.", cut: "No blank is left here.", coated: "No piece is left here.",
    packed: "No piece is left here.",
  };
  const UNDOABLE = ["count", "miscut"];
  const bar = document.getElementById("network");
  const clashBar = document.getElementById("clashes");

  const plural = (count, word) => `${count} ${word}${count === 1 ? "" : "s"}`;
  // By the shop's clock, as the server says it: a tablet may be set to another zone.
  const hours = new Intl.DateTimeFormat("en-GB", {
    timeZone: document.body.dataset.zone, hour: "2-digit", minute: "2-digit", hourCycle: "h23",
  });
  const hour = (time) => hours.format(time);

  function keptWords(acts) {
    const numbers = new Map();
    for (const act of acts) {
      const name = NAMES[act.kind] || "count";
      numbers.set(name, (numbers.get(name) || 0) + 1);
    }
    const parts = ["count", "scan", "start", "pause"].filter((name) => numbers.has(name));
    const words = parts.map((name) => plural(numbers.get(name), name));
    return words.length ? `${[words.slice(0, -1).join(", "), words.at(-1)].filter(Boolean).join(" and ")} kept here` : "";
  }

  // What the bar says in each state of the network.
  function barWords(state, acts, since, shownOf) {
    const kept = keptWords(acts);
    const sent = acts.length === 1 ? "it is sent" : "they are sent";
    const shown = shownOf ? ` This screen is of ${hour(shownOf)}.` : "";
    const remedy = kept && `${kept}; `;
    switch (state) {
      case "away":
        // loaded again meanwhile: what is kept is older than the page
        return `No network since ${hour(Math.min(since, ...acts.map((act) => act.at)))}. ${kept ? `${kept}; ${sent} when it is back.` : "Go on: scans and counts are kept here."}${shown}`;
      case "fault":
        return `The server has a fault. ${kept ? `${kept}; ${sent} when it works again.` : "Try again; if it stays, tell the office."}${shown}`;
      case "nobody":
        return `Nobody is named here. ${remedy && `${remedy}${sent} without that.`} Scan your badge.`.replace("  ", " ");
      case "signed-out":
        return `Signed out. ${remedy && `${remedy}${sent} once somebody has signed in or paired this device.`}`.trim();
      case "refused":
        return `This device may not count here now. ${remedy && `${remedy}have the manager pair it again or sign in.`}`.trim();
      default:
        return kept && `${kept}; ${acts.length === 1 ? "it is" : "they are"} being sent.`;
    }
  }

  function showBar(words, state) {
    if (bar.querySelector("b").textContent !== words) bar.querySelector("b").textContent = words;
    bar.querySelector("a").hidden = !["signed-out", "refused"].includes(state);
    bar.hidden = !words;
  }

  function showClashes(clashes) {
    clashBar.hidden = !clashes.length;
    if (!clashes.length) return;
    const [first] = clashes;
    const what = plural(clashes.length, first.kind === "count" ? "count" : "act");
    const was = clashes.length === 1 ? "was" : "were";
    const words = `${what} ${was} not taken. ${hour(first.at)}: ${first.sentence} Tell the manager.`;
    if (clashBar.querySelector("b").textContent !== words) clashBar.querySelector("b").textContent = words;
    clashBar.querySelector("button").dataset.id = first.id;
  }

  // Counts -----------------------------------------------------------------------------------------------------------

  const rowOf = (fields) => (fields.blank ? `blank-${fields.blank}` : fields.piece ? `piece-${fields.piece}` : "");

  function notTakenBack(acts) {
    const undone = new Set(acts.filter((act) => act.kind === "undo").map((act) => act.fields.undoes));
    return acts.filter((act) => act.kind !== "undo" && !undone.has(act.id));
  }

  // How many of a row are counted here and not sent.
  function keptOf(row, acts) {
    const counts = notTakenBack(acts).filter((act) => act.kind === "count" && rowOf(act.fields) === row);
    return counts.reduce((sum, act) => sum + Number(act.fields.qty), 0);
  }

  // Why a count cannot be kept: more than is left by the last figures that this device has; "" where nothing speaks against.
  async function tooMany(fields, acts) {
    const row = rowOf(fields);
    const known = await Kept.row(row);
    const qty = Number(fields.qty);
    if (!Number.isInteger(qty) || qty < 1) return `“${fields.qty}” is not a count; type a whole number, such as 3.`;
    if (!known) return "";
    const left = known.most - keptOf(row, acts);
    if (qty <= left) return "";
    return `Not kept: ${left < 1 ? "none is left here" : `${left} left here`} by the last figures, not ${qty}. Nothing was counted.`;
  }

  // Writes the figures of a screen anew: those of the server with what is kept here.
  async function figures(screen, acts) {
    const row = screen.dataset.row;
    const write = (name, words) => {
      for (const node of screen.querySelectorAll(`[data-figure="${name}"]`)) node.textContent = words;
    };
    for (const link of screen.querySelectorAll("a[data-row]")) sayKept(link, keptOf(link.dataset.row, acts));
    if (!row) return;
    const known = (await Kept.row(row)) || screen.dataset;
    const kept = keptOf(row, acts);
    if (!kept && !screen.dataset.kept) return;
    screen.dataset.kept = kept || "";
    const [left, done] = [known.left - kept, Number(known.done) + kept];
    write("left", left > 0 ? `${left} left` : `All ${screen.dataset.verb}`);
    write("done", `${done} of ${known.due} ${screen.dataset.verb}`);
    write("after", afterWords(left, Number(screen.querySelector('[data-act="main"] [name=qty]')?.value || 1), known.due));
    const here = Math.max(0, (known.most ?? known.left) - kept);
    write("here", here || "none");
    for (const mark of screen.querySelectorAll(".st-here use")) markHere(mark, here);
    const { verb } = screen.dataset;
    offerCount(screen, here, left > 0 ? RUN_OUT[verb] : `All ${verb}. Nothing is left to count.`);
    for (const node of screen.querySelectorAll('[data-figure="kept"]')) sayKept(node, kept);
    const bundle = bundleOf(screen, acts);
    for (const tape of screen.querySelectorAll(".st-tape")) fill(tape, bundle?.done ?? done, bundle?.due ?? known.due);
  }

  // The figures of a bundle on the screen, with what is kept here of all the rows that it holds.
  function bundleOf(screen, acts) {
    const node = screen.querySelector("[data-bundle]");
    if (!node) return null;
    const kept = node.dataset.bundle.split(" ").reduce((sum, row) => sum + keptOf(row, acts), 0);
    const due = Number(node.dataset.due);
    const done = Math.min(due, Number(node.dataset.done) + kept);
    node.textContent = `${done} of ${due} in this bundle`;
    return { done, due };
  }

  function markHere(mark, here) {
    const [file] = mark.getAttribute("href").split("#");
    mark.setAttribute("href", `${file}#${here ? "done" : "todo"}`);
  }

  // The main act counts while something is left for it; else words stand in its place.
  function offerCount(screen, here, words) {
    const none = screen.querySelector("[data-none]");
    if (!none) return;
    none.previousElementSibling.hidden = !here;
    none.hidden = Boolean(here);
    none.textContent = here ? "" : words;
  }

  // What follows the next count, as the server says it.
  function afterWords(left, step, due) {
    if (left <= 0) return "none left here";
    return left > step ? `${left - step} left after` : `finishes ${due} of ${due}`;
  }

  // The tape as the server draws it (templates/station/tape.html).
  function fill(tape, done, due) {
    const full = (TAPE * done) / due;
    tape.setAttribute("aria-label", `${done} of ${due}`);
    tape.querySelector(".st-full").setAttribute("width", full);
    tape.querySelector(".st-foot").setAttribute("transform", `translate(${full} 0)`);
  }

  function sayKept(node, count) {
    let note = node.querySelector(".st-kept");
    if (!count) {
      note?.remove();
      return;
    }
    if (!note) {
      note = document.createElement("span");
      note.className = "st-kept";
      node.append(note);
    }
    note.textContent = `kept here: ${count}`;
  }

  // While a count of this station is kept, Undo takes that one back.
  function offerUndo(screen, acts, station) {
    const counts = notTakenBack(acts).filter((act) => act.station === station && UNDOABLE.includes(act.kind));
    const last = counts.at(-1);
    const place = screen.querySelector(".st-acts");
    const ours = screen.querySelector('form[data-keeps="undo"]');
    const isQuestion = screen.querySelector('[data-key="Escape"]') !== null;
    if (!last || !place || isQuestion) {
      ours?.remove();
      return;
    }
    const form = ours || document.getElementById("undo-kept").content.firstElementChild.cloneNode(true);
    form.elements.namedItem("undoes").value = last.id;
    form.querySelector("[data-words]").textContent = `${last.fields.qty || ""} ${last.kind === "miscut" ? "spoiled, kept" : "kept"}`;
    if (ours) return;
    const theirs = place.querySelector("form [data-key=Backspace]")?.closest("form");
    if (theirs) theirs.replaceWith(form);
    else place.insertBefore(form, place.querySelector(".is-trouble"));
  }

  // What was done here and not sent takes the order in hand, as it will at the server; a pause lets it go.
  function offerStart(screen, acts, station) {
    const hand = screen.querySelector(".st-acts [data-in-hand]");
    if (!hand) return;
    const order = hand.querySelector("[name=order]").value;
    const ours = acts.filter((act) => act.station === station && act.kind !== "scan" && act.fields.order === order);
    const isInHand = ours.length ? ours.at(-1).kind !== "pause" : hand.dataset.inHand === "1";
    hand.querySelector("form").hidden = isInHand;
    hand.querySelector("a").hidden = !isInHand;
  }

  // `newer`: the last screen of the same order, which had another letter.
  function cannotCheck(raw, newer) {
    const screen = document.getElementById("cannot-check").content.firstElementChild.cloneNode(true);
    screen.querySelector("[data-raw]").textContent = raw;
    const letter = newer?.sheet.replace(/^BY\d+/, "");
    if (newer) screen.querySelector("[data-newer]").textContent = `Sheet ${letter} was in force here at ${hour(newer.at)}. `;
    return screen;
  }

  // A sentence on the screen, where it was pressed; the last one gives way to it.
  function refuse(screen, sentence) {
    const note = document.getElementById("refusal").content.firstElementChild.cloneNode(true);
    note.querySelector("span").textContent = sentence;
    const last = screen.querySelector('.st-refusal[role="alert"]');
    const head = screen.querySelector(".st-profile > .st-head"); // at the wire what is said stands below it
    if (last) last.replaceWith(note);
    else if (head) head.after(note);
    else (screen.querySelector(".st-pane, .st-facts, .st-body, .st-words") || screen).prepend(note);
  }

  return { hour, barWords, showBar, showClashes, tooMany, figures, offerUndo, offerStart, cannotCheck, refuse };
})();
