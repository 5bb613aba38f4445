// Clocks that count, the keypad, and one stream for all windows of a browser.
// Pages work without this file; nothing in it is needed to enter a fact.
"use strict";

const body = document.body;
const meta = (name) => document.querySelector(`meta[name="${name}"]`)?.content ?? "";

// ---------------------------------------------------------------- clocks
// The server's clock counts, so that all tablets show the same; they go on without the stream.
let ahead = Date.parse(meta("server-now")) - Date.now();

function digits(seconds) {
  const past = seconds < 0;
  let rest = Math.abs(seconds);
  const hours = Math.floor(rest / 3600);
  if (hours >= 48) return `${past ? "−" : ""}${Math.floor(hours / 24)} d ${hours % 24} h`;
  rest -= hours * 3600;
  const minutes = Math.floor(rest / 60);
  const two = (n) => String(n).padStart(2, "0");
  const text = hours ? `${hours}:${two(minutes)}:${two(rest % 60)}` : `${minutes}:${two(rest % 60)}`;
  return past ? `−${text}` : text;
}

function count() {
  const now = Date.now() + ahead;
  for (const clock of document.querySelectorAll("[data-until]")) {
    const seconds = Math.ceil((Date.parse(clock.dataset.until) - now) / 1000);
    const text = digits(seconds);
    if (clock.textContent !== text) clock.textContent = text;
    clock.classList.toggle("over", seconds < 0 && clock.closest(".limit") !== null);
  }
  for (const clock of document.querySelectorAll("[data-since]")) {
    const text = digits(Math.max(Math.floor((now - Date.parse(clock.dataset.since)) / 1000), 0));
    if (clock.textContent !== text) clock.textContent = text;
  }
}
setInterval(count, 250);
count();

// A new repair takes over the time zone that this browser's clock shows.
function zone() {
  for (const field of document.querySelectorAll("[data-clock]")) {
    field.value = Intl.DateTimeFormat().resolvedOptions().timeZone ?? "";
  }
}
zone();

// ---------------------------------------------------------------- keypad
const KEYS = ["7", "8", "9", "⌫", "4", "5", "6", "/", "1", "2", "3", "␣", "0", ".", "−", "⏎"];
const NAMES = { "⌫": "Delete", "␣": "Space", "⏎": "Enter", "−": "Minus", "/": "Fraction bar", ".": "Point" };

function pads() {
  for (const pad of document.querySelectorAll("[data-pad]:empty")) {
    for (const key of KEYS) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = NAMES[key] && key !== "/" && key !== "." && key !== "−" ? { "⌫": "⌫", "␣": "space", "⏎": "Enter" }[key] : key;
      button.dataset.key = key;
      if (NAMES[key]) button.setAttribute("aria-label", NAMES[key]);
      if (key === "⏎") button.className = "enter";
      pad.append(button);
    }
  }
}

function press(input, key) {
  if (key === "⏎") return input.form?.requestSubmit();
  const from = input.selectionStart ?? input.value.length;
  const to = input.selectionEnd ?? from;
  const typed = { "⌫": "", "␣": " ", "−": "-" }[key] ?? key;
  const start = key === "⌫" && from === to ? Math.max(from - 1, 0) : from;
  input.setRangeText(typed, start, to, "end");
  input.dispatchEvent(new Event("input", { bubbles: true }));
}

document.addEventListener("click", (event) => {
  const button = event.target.closest?.("[data-pad] button");
  if (!button) return;
  const input = document.getElementById(button.parentElement.dataset.pad);
  if (!input) return;
  press(input, button.dataset.key);
});
pads();

// ---------------------------------------------------------------- drawings to tap
// A finger takes the nearest point, of two in one place the part's; the same points stand below as links.
const NEAR_PX = 48;

document.addEventListener("click", (event) => {
  const svg = event.target.closest?.("[data-tap] svg");
  if (!svg) return;
  let nearest = null, least = NEAR_PX;
  for (const spot of svg.querySelectorAll("[data-spot]")) {
    const box = spot.getBoundingClientRect();
    const away = Math.hypot(box.x + box.width / 2 - event.clientX, box.y + box.height / 2 - event.clientY);
    if (away <= least + 1) [nearest, least] = [spot.dataset.spot, away];
  }
  const links = [...document.querySelectorAll("[data-of]")];
  links.find((link) => link.dataset.of === nearest)?.click();
});

// A wrong field, or the next reading, is where the hand is.
function settle() {
  pads();
  count();
  const next = document.querySelector("#live .wrong input, #live .wrong textarea, #live [autofocus]");
  if (next && !document.querySelector("#live :focus")) next.focus();
  stay();
}
document.addEventListener("htmx:after:swap", settle);

// What was tapped may be gone from the new page: the keys go on from the same place.
const ABLE = "a[href], button, summary, select, textarea, input:not([type=hidden])";
let places = [], byKeys = false;
document.addEventListener("htmx:before:swap", () => {
  places = [];
  byKeys = document.activeElement?.matches(":focus-visible") ?? false;
  for (let at = document.activeElement; at && at !== body; at = at.parentElement) {
    if (at.id) places.push(at.id);
  }
});

function stay() {
  if (document.activeElement && document.activeElement !== body) return;
  const place = places.map((id) => document.getElementById(id)).find(Boolean);
  if (!place) return;
  const whole = place.id === "live";
  const able = whole ? [] : [...place.querySelectorAll(ABLE)].filter((e) => e.checkVisibility());
  const words = (whole && place.querySelector("h1")) || place;
  const next = able.find((e) => e.matches(".main")) ?? able[0] ?? words;
  if (next === words) words.tabIndex = -1;
  next.focus({ preventScroll: !byKeys });
}

// A form that leads to another page goes there whole, so that address and menu are right.
document.addEventListener("htmx:before:response", (event) => {
  const answer = event.detail.ctx.response.raw;
  if (!answer.redirected || new URL(answer.url).pathname === location.pathname) return;
  event.preventDefault();
  location.assign(answer.url);
});

// ---------------------------------------------------------------- taps that count
// Each tap has an id of its own, so that two quick ones are two; one without an answer is sent
// again under its id, until the page says anew what is stored.
const unanswered = new Map();

document.addEventListener("htmx:config:request", (event) => {
  const { sourceElement: form, request } = event.detail.ctx;
  if (!form.matches("[data-each]")) return;
  const what = `${form.id} ${request.body.get("by")}`;
  const again = unanswered.get(what)?.shift();
  const random = () => Array.from(crypto.getRandomValues(new Uint8Array(8)), (n) => n.toString(16)).join("-");
  request.body.set("tap", again ?? random());
});
document.addEventListener("htmx:error", (event) => {
  const ctx = event.detail?.ctx;
  const tap = ctx?.request?.body?.get?.("tap");
  if (!tap) return;
  const what = `${ctx.sourceElement.id} ${ctx.request.body.get("by")}`;
  unanswered.set(what, [...(unanswered.get(what) ?? []), tap]);
});
document.addEventListener("htmx:after:swap", () => unanswered.clear());

// ---------------------------------------------------------------- what is new
const lost = document.getElementById("lost");
const say = (gone) => { if (lost) lost.hidden = !gone; };
document.addEventListener("htmx:error", (event) => {
  if (event.detail?.error?.name !== "AbortError") say(true);
});
document.addEventListener("htmx:after:request", () => say(false));

let seen = Number(meta("server-seq") || 0);
const stream = document.getElementById("stream");
const channel = "BroadcastChannel" in window ? new BroadcastChannel("panelwright") : null;

// What is told often is asked for at once, and then not more often than so.
const PAUSE_MS = 500;
const due = new Map();

// A form that came back with what is wrong stays until it is sent again.
const refused = (name) => name !== "repairs" && document.querySelector("#live .wrong, #live .trouble[role=alert]");

// What was asked for before it came back must not take its place either.
document.addEventListener("htmx:before:swap", (event) => {
  const asker = event.detail?.ctx?.sourceElement;
  if (asker?.id === "live" && refused("live")) event.preventDefault();
});

function anew(name) {
  if (refused(name)) return;
  if (due.has(name)) return due.set(name, true);
  htmx.trigger(body, name);
  due.set(name, false);
  setTimeout(() => {
    const again = due.get(name);
    due.delete(name);
    if (again) anew(name);
  }, PAUSE_MS);
}

function told(kind, data) {
  if (data.now) ahead = Date.parse(data.now) - Date.now();
  if (data.seq) {
    if (data.seq <= seen) return;
    seen = data.seq;
  }
  if (data.repair && kind !== "listed") anew(`repair-${data.repair}`);
  if (kind !== "hello" && kind !== "beat") anew("repairs");
}

function listen() {
  // Named events of the stream arrive as events of the element.
  for (const kind of ["hello", "beat", "fact", "answer", "listed"]) {
    stream.addEventListener(kind, (event) => {
      const data = JSON.parse(event.detail.data);
      told(kind, data);
      channel?.postMessage({ kind, data });
    });
  }
  stream.addEventListener("htmx:sse:error", () => say(true));
  stream.addEventListener("htmx:sse:after:connection", () => say(false));
  stream.setAttribute("hx-sse:connect", `/events?after=${seen}`);
  htmx.process(stream);
}

if (stream && window.htmx) {
  if (channel) {
    channel.onmessage = (event) => {
      const { kind, data, after } = event.data;
      if (kind === "at") {
        if (data.seq > seen) { seen = data.seq; anew("repairs"); refresh(); }
      } else if (kind === "who") {
        if (leads && seen > after) channel.postMessage({ kind: "at", data: { seq: seen } });
      } else {
        told(kind, data);
      }
    };
  }
  // One window holds the stream and tells the others; where it closes, another takes over.
  if (channel && navigator.locks) {
    navigator.locks.request("panelwright-stream", () => { begin(); return new Promise(() => {}); });
    channel.postMessage({ kind: "who", after: seen });
  } else {
    begin();
  }
}
var leads = false;
function begin() { leads = true; listen(); }
function refresh() {
  const repair = document.getElementById("live")?.dataset.repair;
  if (repair) anew(`repair-${repair}`);
}
