// An alarm before each limit of a running clock: a notice, and by wish a sound or a buzz.
// A page may sound only after a touch, while it is open and the tablet is awake; it says so itself.
"use strict";

{
  const bar = document.getElementById("alarm");
  const what = document.getElementById("alarm-what");
  const AGAIN_MS = 20_000, RINGS = 15, KEEP_MS = 60 * 60_000, FORGET_MS = 3 * 86_400_000;

  // What was seen on one page is not told again on the next one of this browser.
  const kept = (name, otherwise) => {
    try { return JSON.parse(localStorage.getItem(`panelwright-${name}`)) ?? otherwise; } catch { return otherwise; }
  };
  const keep = (name, value) => {
    try { localStorage.setItem(`panelwright-${name}`, JSON.stringify(value)); } catch { /* not allowed here */ }
  };

  let on = kept("alarm", false) === true;
  let sound = null, awake = null, rung = 0, last = 0, shown = "";
  const turned = new Set();

  // ---------------------------------------------------------------- sound, buzz, screen
  function begin() {
    const Sound = window.AudioContext ?? window.webkitAudioContext;
    if (Sound) sound ??= new Sound();
    sound?.resume?.().then(tell, () => {});
  }

  // A page that nobody has touched yet may not buzz, and a browser complains of one that tries.
  function buzz(pattern) {
    if (navigator.userActivation?.hasBeenActive ?? true) navigator.vibrate?.(pattern);
  }

  function ring() {
    buzz([400, 200, 400, 200, 400]);
    if (sound?.state !== "running") return;
    for (let beat = 0; beat < 3; beat++) {
      const tone = sound.createOscillator(), loud = sound.createGain();
      const at = sound.currentTime + 0.6 * beat;
      tone.frequency.value = beat % 2 ? 740 : 880;
      loud.gain.setValueAtTime(0.0001, at);
      loud.gain.exponentialRampToValueAtTime(0.6, at + 0.03);
      loud.gain.exponentialRampToValueAtTime(0.0001, at + 0.45);
      tone.connect(loud).connect(sound.destination);
      tone.start(at);
      tone.stop(at + 0.5);
    }
    document.body.dataset.rung = String(Number(document.body.dataset.rung ?? 0) + 1);
  }

  async function light() {
    if (!on || !navigator.wakeLock || document.visibilityState !== "visible" || awake) return tell();
    try {
      awake = await navigator.wakeLock.request("screen");
      awake.addEventListener("release", () => { awake = null; tell(); });
    } catch { awake = null; }
    tell();
  }

  // ---------------------------------------------------------------- the switch
  function tell() {
    const button = document.getElementById("alarm-switch"), state = document.getElementById("alarm-state");
    if (!button || !state) return;
    button.hidden = false;
    button.setAttribute("aria-pressed", String(on));
    let words = "The alarm is off: only the notice shows.";
    if (on) {
      const heard = sound?.state === "running" ? "Sound is on" : sound === null && !window.AudioContext
        ? "This browser has no sound for pages" : "Sound waits for a touch on this page";
      words = `${heard}; ${awake ? "the screen is kept awake." : "this browser does not keep the screen awake: see that it does not go dark."}`;
    }
    if (state.textContent !== words) state.textContent = words;
  }

  document.addEventListener("click", (event) => {
    if (event.target.closest?.("#alarm-switch")) {
      on = !on;
      keep("alarm", on);
      if (on) { begin(); ring(); light(); } else { awake?.release?.(); }
      tell();
    } else if (on && sound?.state !== "running") {
      begin();
    }
    if (event.target.closest?.("#alarm-seen")) seen();
  });
  document.addEventListener("visibilitychange", () => { if (on) light(); });

  // ---------------------------------------------------------------- what is due
  function due(now) {
    const found = [];
    for (const clock of document.querySelectorAll("[data-alarm]")) {
      const until = Date.parse(clock.querySelector("[data-until]")?.dataset.until ?? "");
      const left = until - now;
      if (Number.isNaN(left) || left < -KEEP_MS) continue;
      const key = `${location.pathname.split("/")[2] ?? ""} ${clock.id} ${until}`;
      if (left <= 0) found.push([`${key} end`, clock.dataset.alarm]);
      else if (left <= 60_000 * Number(clock.dataset.soonMin) && clock.dataset.soon) found.push([`${key} soon`, clock.dataset.soon]);
    }
    const already = kept("seen", {});
    return found.filter(([key]) => !(key in already));
  }

  function seen() {
    const now = Date.now() + ahead, already = kept("seen", {});
    for (const [key, at] of Object.entries(already)) if (now - at > FORGET_MS) delete already[key];
    for (const [key] of due(now)) already[key] = now;
    keep("seen", already);
    buzz(0);
    look();
  }

  function look() {
    const now = Date.now() + ahead, found = due(now), key = found.map(([one]) => one).join("|");
    if (key !== shown) {
      what.replaceChildren(...found.map(([, words]) => {
        const line = document.createElement("p");
        line.textContent = words;
        return line;
      }));
      bar.hidden = found.length === 0;
      [shown, rung, last] = [key, 0, 0];
    }
    if (found.length && on && rung < RINGS && now - last >= AGAIN_MS) {
      [rung, last] = [rung + 1, now];
      ring();
    }
    turn(now);
  }

  // What may be done changes while the page is open.
  function turn(now) {
    const repair = document.getElementById("live")?.dataset.repair;
    for (const one of document.querySelectorAll("[data-turns]")) {
      const at = one.dataset.turns;
      if (!repair || turned.has(at) || Date.parse(at) > now) continue;
      turned.add(at);
      anew(`repair-${repair}`);
    }
  }

  // ---------------------------------------------------------------- a wrong clock
  // Clocks here count by the server's clock. Where this one is set, or slept, it is asked again.
  let drift = Date.now() - performance.now();

  async function compare() {
    const now = Date.now() - performance.now();
    if (Math.abs(now - drift) > 2000) {
      drift = now;
      try {
        const answer = await fetch("/static/mark.svg", { method: "HEAD", cache: "no-store" });
        const server = Date.parse(answer.headers.get("date") ?? "");
        if (!Number.isNaN(server)) ahead = server - Date.now();
      } catch { /* the stream tells the time again once the connection is back */ }
    }
    const line = document.getElementById("skew");
    if (!line) return;
    const minutes = Math.round(Math.abs(ahead) / 60_000);
    line.hidden = minutes < 1;
    const words = `This tablet’s clock is ${minutes} min ${ahead > 0 ? "behind" : "ahead of"} the server’s. The clocks here count by the server’s.`;
    if (!line.hidden && line.textContent !== words) line.textContent = words;
  }

  if (bar && what) {
    const step = () => { look(); compare(); };
    setInterval(step, 500);
    document.addEventListener("htmx:after:swap", () => { tell(); step(); });
    if (on) { if (navigator.userActivation?.hasBeenActive) begin(); light(); }
    tell();
    step();
  }
}
