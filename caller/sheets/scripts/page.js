// Calls the rows from the page: their sound, the place, buttons, keys and pedals. Without a script
// the page is whole all the same; each row's sound is then a link.
(() => {
  "use strict";
  // The keys of caller's commands. Letters and the up arrow act only where a button of the bar was
  // used last, so that they can be told from a reader's own (WCAG 2.2, 2.1.4).
  const KEYS = {
    " ": "next", Enter: "next", PageDown: "next", ArrowRight: "next",
    ArrowLeft: "back", PageUp: "back", Backspace: "back",
  };
  const KEYS_OF_THE_BAR = { r: "again", ArrowUp: "again", b: "back" };

  const UNPLAYED = "Its track is missing, or of a kind that this browser does not play: write it with --format mp3.";

  const rows = [...document.querySelectorAll("main > section")];
  const finished = document.querySelector(".finished");
  const bar = document.querySelector(".bar");
  const now = bar.querySelector("p");
  const buttons = [...bar.querySelectorAll("button")];
  const aloud = document.querySelector(".sound input");
  const audio = new Audio();
  const name = "caller " + document.body.dataset.pattern;

  let kept = {};
  try { kept = JSON.parse(localStorage.getItem(name)) || {}; } catch { /* begins anew */ }
  let place = Number.isInteger(kept.row) ? Math.min(Math.max(kept.row - 1, 0), rows.length) : 0;
  let called = false; // whether the row at the place was called since the page was opened
  let pressed = null; // the button that a finger or the mouse pressed last

  function keep() {
    try {
      localStorage.setItem(name, JSON.stringify({ row: place + 1, aloud: aloud.checked }));
      return true;
    } catch { return false; }
  }

  const heading = (row) => row.querySelector("h2").textContent.replace(",", ` of ${rows.length},`);
  const words = (element) => element.innerText.replace(/\s+/g, " ").trim();

  // The line in the bar is told by a screen reader: all of the row where its sound is not played.
  function tell(line, more = "") {
    now.textContent = "";
    setTimeout(() => {
      const unseen = document.createElement("span");
      unseen.className = "unseen";
      unseen.textContent = more;
      now.replaceChildren(line, more && " ", unseen);
    }, 30);
  }

  function mark() {
    for (const row of document.querySelectorAll("[aria-current]")) row.removeAttribute("aria-current");
    buttons[2].textContent = called ? "Next" : "Start";
    if (place < rows.length) rows[place].setAttribute("aria-current", "true");
    (rows[place] || finished).scrollIntoView({ block: "start" });
  }

  function call() {
    called = true;
    const safe = keep() ? "" : "This browser does not keep the place.";
    mark();
    audio.pause();
    if (place === rows.length) return tell(finished.textContent);
    const row = rows[place];
    const link = row.querySelector(".hear a");
    if (!link || !aloud.checked) {
      return tell(heading(row), [...row.querySelectorAll("li, .shape, .remember")].map(words).join(". "));
    }
    tell(heading(row), safe);
    audio.src = link.href;
    audio.play().catch((error) => {
      if (error.name === "AbortError") return; // the next row cut it
      const why = { NotAllowedError: "Press Repeat to hear it.", NotSupportedError: UNPLAYED }[error.name];
      tell(`${heading(row)}. ${why || "Its sound cannot be played."}`);
    });
    stayAwake();
  }

  const moves = {
    next() { if (called) place = Math.min(place + 1, rows.length); call(); },
    again() { call(); },
    back() { if (place > 0) place -= 1; call(); },
  };

  function go(to) { place = to; call(); }

  // A screen that goes dark while both hands hold yarn is of no use.
  let lock = null;
  async function stayAwake() {
    try {
      if (!lock || lock.released) lock = await navigator.wakeLock.request("screen");
    } catch { /* where it cannot be had */ }
  }

  bar.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (button) moves[button.dataset.move]();
  });
  document.addEventListener("pointerdown", (event) => { pressed = event.target.closest(".bar button"); });
  rows.forEach((row, index) => row.querySelector(".hear a")?.addEventListener("click", (event) => {
    event.preventDefault();
    go(index);
  }));
  document.querySelector("nav").addEventListener("click", (event) => {
    const index = rows.findIndex((row) => "#" + row.id === event.target.getAttribute("href"));
    if (index >= 0) { place = index; called = false; keep(); mark(); tell(heading(rows[index])); }
  });
  aloud.addEventListener("change", keep);

  function moveOf(event) {
    if (event.ctrlKey || event.altKey || event.metaKey) return null;
    const control = event.target.closest("a, button, input, summary");
    // Enter and space press what the Tab key went to; what a finger pressed leaves them free.
    if (control && control !== pressed && (event.key === " " || event.key === "Enter")) return null;
    const own = bar.contains(event.target) && KEYS_OF_THE_BAR[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    return KEYS[event.key] || own || null;
  }
  document.addEventListener("keydown", (event) => {
    if (event.key === "Tab") pressed = null;
    const move = moveOf(event);
    if (!move) return;
    event.preventDefault();
    if (!event.repeat) moves[move](); // a pedal that is held down moves once
  });
  document.addEventListener("keyup", (event) => { if (moveOf(event)) event.preventDefault(); });

  // The buttons of a headset.
  if ("mediaSession" in navigator) {
    navigator.mediaSession.setActionHandler("nexttrack", moves.next);
    navigator.mediaSession.setActionHandler("previoustrack", moves.back);
  }

  aloud.checked = kept.aloud !== false;
  bar.hidden = false;
  if (place > 0) {
    mark();
    tell(place < rows.length ? `Carry on at ${heading(rows[place]).toLowerCase()}` : finished.textContent);
  } else {
    buttons[2].textContent = "Start";
    now.textContent = `${rows.length} rows`;
  }
})();
