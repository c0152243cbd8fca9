// Follows the call on the page, and sends what is pressed. What comes is whole each time, so that a
// page that was away for an hour shows the row as it is.
(() => {
  "use strict";
  // As on the page of the tracks: letters and the up arrow act only where a button of the bar was
  // used last, so that they can be told from a reader's own (WCAG 2.2, 2.1.4).
  const KEYS = {
    " ": "next", Enter: "next", PageDown: "next", ArrowRight: "next",
    ArrowLeft: "back", PageUp: "back", Backspace: "back",
  };
  const KEYS_OF_THE_BAR = { r: "repeat", ArrowUp: "repeat", b: "back", y: "yes" };
  const SIZES = [0.6, 0.8, 1, 1.25, 1.5, 2, 2.5, 3];
  const SILENT_MS = 15000; // three beats of the server
  const AWAY = "Not connected. The call goes on without this page, which tries again by itself.";

  const $ = (id) => document.getElementById(id);
  const moves = document.querySelector(".moves");
  const buttons = [...moves.querySelectorAll("button")];
  let seen = { number: 0, at: "", ended: false };
  let source = null;
  let heard = 0; // when the server was heard last
  let pressed = null; // the button that a finger or the mouse pressed last

  function make(tag, name, text = "") {
    const made = document.createElement(tag);
    if (name) made.className = name;
    made.textContent = text;
    return made;
  }

  function swatch(colour) {
    const made = make("i", "swatch");
    made.style.background = colour;
    return made;
  }

  // A live region that is given the same words again is read again: it is touched for news only.
  function say(region, text) {
    if (region.textContent !== text) region.textContent = text;
  }

  function show(view) {
    const was = seen;
    seen = view;
    say($("link"), "");
    if (view.number === was.number) return; // the same as before the connection was lost
    document.title = view.heading ? `${view.heading}: ${view.title}` : view.title;
    $("heading").textContent = view.heading || view.title;
    $("heading").className = view.way;
    $("shapes").replaceChildren(...view.shapes.map((line) => make("p", "", line)));
    $("remember").replaceChildren(...view.remember.map((line) => make("p", "", `Remember: ${line}.`)));
    $("runs").replaceChildren(...view.runs.map(run));
    $("runs").hidden = !view.runs.length;
    $("ends").querySelector("ul").replaceChildren(...view.hanging.map(end));
    $("ends").hidden = !view.hanging.length;
    drawBar(view);
    $("words").textContent = view.words;
    for (const button of buttons) {
      const press = button.dataset.press;
      button.hidden = view.ended || (press === "yes" && !view.question);
      if (press === "back") button.textContent = view.question ? "No" : "Back";
    }
    if (view.at !== was.at) {
      scrollTo(0, 0);
      document.querySelector("#runs .now")?.scrollIntoView({ block: "nearest" });
    }
    if (view.ended) {
      source.close();
      source = null;
    }
  }

  function run(line) {
    const item = make("li", line.now ? "now" : "");
    if (line.now) item.setAttribute("aria-current", "step");
    const text = make("div");
    const first = make("p");
    first.append(make("bdi", "", line.end), ` ${line.to} `, make("b", "", line.last));
    text.append(first, make("p", "more", line.more));
    item.append(swatch(line.colour), text);
    return item;
  }

  function end(one) {
    const item = make("li");
    item.append(swatch(one.colour), make("bdi", "", one.text));
    return item;
  }

  // To scale: each run as wide as its needles. Labels that would cover another are left out; those
  // of what is called come first, and the list has them all.
  function drawBar(view) {
    const bar = view.bar;
    $("bar").replaceChildren();
    if (!bar) return;
    const hands = view.runs.length === bar.runs.length && !view.heading.startsWith("Before")
      ? (bar.turn ? [...view.runs].reverse() : view.runs) : [];
    const needles = make("div", "needles");
    const labels = make("div", "labels");
    const whole = bar.before + bar.after + bar.runs.reduce((sum, one) => sum + one.stitches, 0);
    const marks = [];
    let at = bar.before;
    const piece = (name, stitches) => {
      const made = make("i", name);
      made.style.flexGrow = stitches;
      needles.append(made);
      return made;
    };
    if (bar.before) piece("out", bar.before);
    bar.runs.forEach((one, index) => {
      const now = Boolean(hands[index] && hands[index].now);
      piece(now ? "now" : "", one.stitches).style.background = one.colour;
      marks.push({ label: one.first, at, side: "left", now, edge: index === 0 });
      at += one.stitches;
      marks.push({ label: one.last, at, side: "right", now, edge: index === bar.runs.length - 1 });
    });
    if (bar.after) piece("out", bar.after);
    if (bar.centre !== null && bar.centre > 0 && bar.centre + bar.before < whole) {
      const centre = make("b");
      centre.style.left = `${(100 * (bar.centre + bar.before)) / whole}%`;
      needles.append(centre);
    }
    $("bar").append(needles, labels);
    const taken = [];
    const width = labels.clientWidth;
    marks.sort((one, other) => 2 * other.now + other.edge - (2 * one.now + one.edge));
    for (const mark of marks) {
      const label = make("span", "", mark.label);
      labels.append(label);
      const edge = (mark.at / whole) * width;
      const from = Math.min(Math.max(mark.side === "left" ? edge : edge - label.offsetWidth, 0), width - label.offsetWidth);
      const to = from + label.offsetWidth;
      if (taken.some(([begin, stop]) => from < stop + 4 && to > begin - 4)) {
        label.remove();
      } else {
        label.style.left = `${from}px`;
        taken.push([from, to]);
      }
    }
  }

  function follow() {
    source?.close();
    heard = Date.now();
    source = new EventSource("events");
    source.onmessage = (event) => { heard = Date.now(); show(JSON.parse(event.data)); };
    source.addEventListener("beat", () => { heard = Date.now(); say($("link"), ""); });
    source.onerror = () => { if (!seen.ended) say($("link"), AWAY); };
  }

  // The browser connects anew by itself, but neither where the server refused once nor where the
  // network swallowed the connection without a word.
  setInterval(() => {
    if (seen.ended) return;
    if (source && source.readyState !== EventSource.CLOSED && Date.now() - heard < SILENT_MS) return;
    say($("link"), AWAY);
    follow();
  }, 2000);

  async function send(press) {
    if (seen.ended) return;
    try {
      const at = encodeURIComponent(seen.at);
      const answer = await fetch(`${press}?at=${at}`, { method: "POST", signal: AbortSignal.timeout(3000) });
      if (answer.ok || answer.status === 409) say($("link"), "");
      else if (answer.status === 429) say($("link"), "Too many presses. Wait a moment.");
      else say($("link"), AWAY);
    } catch {
      say($("link"), "Not sent, for the page is not connected. Press again when it is.");
    }
    stayAwake();
  }

  moves.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (button) send(button.dataset.press);
  });
  document.addEventListener("pointerdown", (event) => { pressed = event.target.closest(".moves button"); });

  function pressOf(event) {
    if (event.ctrlKey || event.altKey || event.metaKey) return null;
    const control = event.target.closest("button");
    // Enter and space press what the Tab key went to; what a finger pressed leaves them free.
    if (control && control !== pressed && (event.key === " " || event.key === "Enter")) return null;
    const own = moves.contains(event.target) && KEYS_OF_THE_BAR[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    return own || KEYS[event.key] || null;
  }
  document.addEventListener("keydown", (event) => {
    if (event.key === "Tab") pressed = null;
    const press = pressOf(event);
    if (!press) return;
    event.preventDefault();
    if (!event.repeat) send(press); // a pedal that is held down moves once
  });
  document.addEventListener("keyup", (event) => { if (pressOf(event)) event.preventDefault(); });

  // The size of the text, kept in this browser.
  const NAME = "row-caller text size";
  let size = 2;
  try {
    const kept = SIZES.indexOf(Number(localStorage.getItem(NAME)));
    if (kept >= 0) size = kept;
  } catch { /* the usual one */ }
  function resize(by) {
    size = Math.min(Math.max(size + by, 0), SIZES.length - 1);
    document.documentElement.style.setProperty("--size", SIZES[size]);
    if (by) try { localStorage.setItem(NAME, SIZES[size]); } catch { /* for this time only */ }
    if (seen.number) drawBar(seen);
  }
  $("smaller").addEventListener("click", () => resize(-1));
  $("larger").addEventListener("click", () => resize(1));
  addEventListener("resize", () => resize(0));

  // A screen that goes dark while both hands hold yarn is of no use.
  let lock = null;
  async function stayAwake() {
    try {
      if (!lock || lock.released) lock = await navigator.wakeLock.request("screen");
    } catch { /* where it cannot be had */ }
  }

  resize(0);
  follow();
})();
