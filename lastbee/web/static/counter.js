// Counts bees by taps against a clock that runs down, and writes count and minutes into the
// plain inputs below it. Only time that somebody watched is counted: with the screen off or the
// page gone the clock stands still, and what was counted so far is still there afterwards.

const TICK_MS = 200;
const DEFAULT_MINUTES = 5;
// The office takes no count that was shorter.
const SHORTEST_MS = 30_000;
// A count that was left lying for longer belongs to another visit.
const LONGEST_KEPT_MS = 2 * 3600 * 1000;

/**
 * The count itself, which knows no page.
 *
 * @typedef {{minutes: number, state: "ready" | "running" | "paused" | "done", watchedMs: number, taps: string[]}} Count
 */

/** @returns {Count} */
export function newCount(minutes = DEFAULT_MINUTES) {
  return { minutes, state: "ready", watchedMs: 0, taps: [] };
}

/** The count after so many more milliseconds were watched. */
export function watched(count, ms) {
  if (count.state !== "running") return count;
  const whole = count.minutes * 60_000;
  const watchedMs = Math.min(whole, count.watchedMs + Math.max(0, ms));
  return { ...count, watchedMs, state: watchedMs >= whole ? "done" : "running" };
}

export function tapped(count, pad) {
  return count.state === "running" ? { ...count, taps: [...count.taps, pad] } : count;
}

export function undone(count) {
  return { ...count, taps: count.taps.slice(0, -1) };
}

export function tallyOf(count, pad) {
  return count.taps.filter((one) => one === pad).length;
}

/** Minutes that were watched, to the second. */
export function minutesOf({ watchedMs }) {
  return Math.round((watchedMs / 60_000) * 100) / 100;
}

/** What is said of a count that was stopped too soon to be of use; empty for one that was not. */
export function tooShortWords({ watchedMs }) {
  if (watchedMs >= SHORTEST_MS) return "";
  const [soFar, left] = [Math.floor(watchedMs / 1000), Math.ceil((SHORTEST_MS - watchedMs) / 1000)];
  return `${soFar} s so far, and 30 s is the least that counts: press Go on for ${left} s more.`;
}

/** What is left on the clock, "4:07". */
export function clockWords({ minutes, watchedMs }) {
  const left = Math.max(0, Math.ceil((minutes * 60_000 - watchedMs) / 1000));
  return `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}`;
}

const SAID = {
  ready: "Press Start, then tap for each bee.",
  running: "",
  paused: "Paused: nobody was watching. Press Go on.",
};
const PRESS = { ready: "Start", running: "Stop", paused: "Go on", done: "Again" };

/**
 * Bring a counter of a page to life.
 *
 * @param {HTMLFieldSetElement} fieldset
 * @param {(input: HTMLInputElement, value: unknown) => void} write
 */
export function startCounter(fieldset, write) {
  const counter = new Counter(fieldset, write);
  counter.listen();
  counter.takeUp();
}

/** Tells how long somebody watches, tick by tick, and keeps the screen on meanwhile. */
class Watch {
  #tick;
  #lastMs = 0;
  #ticking = 0;
  #lock = null;

  constructor(tick) {
    this.#tick = tick;
  }

  begin() {
    this.#lastMs = performance.now();
    this.#ticking = setInterval(this.#tick, TICK_MS);
    this.#stayAwake();
  }

  end() {
    clearInterval(this.#ticking);
    this.#lock?.release?.().catch(() => {});
    this.#lock = null;
  }

  /** Milliseconds since this was last asked. */
  passedMs() {
    const before = this.#lastMs;
    this.#lastMs = performance.now();
    return this.#lastMs - before;
  }

  async #stayAwake() {
    try {
      this.#lock = await navigator.wakeLock?.request("screen");
    } catch {
      this.#lock = null;
    }
  }
}

/** A count on a page: its pads and buttons, and the inputs that it is written into. */
class Counter {
  constructor(fieldset, write) {
    const inputs = [...fieldset.querySelectorAll(".by-hand input")];
    this.fieldset = fieldset;
    this.write = write;
    this.pads = [...fieldset.querySelectorAll("[data-pad]")];
    this.lengths = [...fieldset.querySelectorAll("[data-minutes]")];
    this.minutes = inputs.find(({ name }) => name.endsWith("minutes"));
    this.key = `count ${location.pathname} ${fieldset.dataset.counter}`;
    this.count = remembered(this.key) ?? newCount();
    this.watch = new Watch(() => this.tick());
    this.isByHand = false;
    this.isStoppedEarly = false;
  }

  find(selector) {
    return this.fieldset.querySelector(selector);
  }

  inputOf({ dataset }) {
    return this.find(`input[name="${dataset.pad}"]`);
  }

  tallyOn({ dataset }) {
    return tallyOf(this.count, dataset.pad);
  }

  get isRunning() {
    return this.count.state === "running";
  }

  /** Hear of presses, of taps, and of the page going out of sight. */
  listen() {
    this.find("[data-do=start]").addEventListener("click", () => this.press());
    this.find("[data-do=undo]").addEventListener("click", () => this.undo());
    for (const button of this.lengths) {
      button.addEventListener("click", () => this.choose(Number(button.dataset.minutes)));
    }
    for (const pad of this.pads) {
      // A bee is counted when the finger comes down, not when it leaves.
      pad.addEventListener("pointerdown", (event) => event.button === 0 && this.tap(pad));
      pad.addEventListener("keydown", ({ key, repeat }) => {
        if ([" ", "Enter"].includes(key) && !repeat) this.tap(pad);
      });
    }
    document.addEventListener("visibilitychange", () => document.visibilityState === "hidden" && this.pause());
    window.addEventListener("pagehide", () => this.pause());
    this.find(".by-hand").addEventListener("input", ({ isTrusted }) => (this.isByHand ||= isTrusted));
    // Before anybody else reads the form: a count that still runs ends with it.
    window.addEventListener("submit", ({ target }) => target === this.fieldset.form && this.endWithForm(), true);
  }

  /** Go on where the page was left. */
  takeUp() {
    if (this.isRunning) this.count = { ...this.count, state: "paused" };
    if (this.count.state === "done" && this.minutes.value === "") this.writeDown();
    this.find(".tally").hidden = false;
    this.show();
  }

  change(next) {
    const before = this.count.state;
    this.count = next;
    remember(this.key, next);
    if (before === "running" && next.state === "done") this.writeDown();
    if (before !== next.state) this.watch.end();
    if (before !== next.state && this.isRunning) this.watch.begin();
    this.show();
  }

  // What is done to it.

  press() {
    const nexts = {
      ready: () => ({ ...this.count, state: "running" }),
      paused: () => ({ ...this.count, state: "running" }),
      running: () => this.stopped(),
      done: () => ({ ...newCount(this.count.minutes), state: "running" }),
    };
    this.isByHand = false;
    this.change(nexts[this.count.state]());
  }

  /** The count after Stop: done, or paused where it was too short to be of use. */
  stopped() {
    const count = watched(this.count, this.watch.passedMs());
    this.isStoppedEarly = tooShortWords(count) !== "";
    return { ...count, state: this.isStoppedEarly ? "paused" : "done" };
  }

  undo() {
    this.change(undone(this.count));
    if (this.count.state === "done") this.writeDown();
  }

  choose(minutes) {
    const goesOn = this.count.state === "paused" && minutes * 60_000 > this.count.watchedMs;
    this.change(goesOn ? { ...this.count, minutes } : newCount(minutes));
  }

  tap(pad) {
    if (!this.isRunning) return;
    this.change(tapped(this.count, pad.dataset.pad));
    navigator.vibrate?.(25);
    pad.classList.add("hit");
    setTimeout(() => pad.classList.remove("hit"), 90);
  }

  tick() {
    const ms = this.watch.passedMs();
    // A page that slept for longer than a tick can explain was not looked at.
    const slept = ms > 10 * TICK_MS;
    this.change(slept ? { ...watched(this.count, TICK_MS), state: "paused" } : watched(this.count, ms));
  }

  pause() {
    if (!this.isRunning) return;
    this.change({ ...watched(this.count, this.watch.passedMs()), state: "paused" });
  }

  endWithForm() {
    this.pause();
    if (this.count.state === "paused") {
      // What a hand wrote since it was started is what it means.
      if (!this.isByHand) this.writeDown();
      // The office asks for more of a short one: it can still go on.
      if (tooShortWords(this.count) === "") this.count = { ...this.count, state: "done" };
    }
    forget(this.key);
  }

  // What it says.

  writeDown() {
    navigator.vibrate?.([200, 100, 200]);
    const [first, ...others] = this.pads;
    this.write(this.minutes, minutesOf(this.count));
    this.write(this.inputOf(first), this.tallyOn(first));
    for (const pad of others) this.write(this.inputOf(pad), this.tallyOn(pad) || "");
  }

  get said() {
    const isShort = this.count.state === "paused" && this.isStoppedEarly;
    return isShort ? tooShortWords(this.count) : SAID[this.count.state];
  }

  show() {
    const { count } = this;
    this.find(".tally").dataset.state = count.state;
    this.find(".clock").textContent = clockWords(count);
    this.find(".state").textContent = this.said ?? `Counted for ${minutesOf(count)} min and written below.`;
    this.find("[data-do=start]").textContent = PRESS[count.state];
    this.find("[data-do=undo]").disabled = count.taps.length === 0;
    for (const button of this.lengths) {
      button.setAttribute("aria-pressed", String(Number(button.dataset.minutes) === count.minutes));
      button.disabled = this.isRunning;
    }
    for (const pad of this.pads) {
      pad.setAttribute("aria-disabled", String(!this.isRunning));
      pad.firstElementChild.textContent = String(this.tallyOn(pad));
    }
    this.askForZeros();
  }

  /** Nobody tapped: a zero is a finding only for those who watched. */
  askForZeros() {
    const isOpen = (pad) => this.tallyOn(pad) === 0 && this.inputOf(pad).value === "";
    const open = this.count.state === "done" ? this.pads.slice(1).filter(isOpen) : [];
    this.find(".zeros").replaceChildren(...open.map((pad) => this.zeroButton(pad)));
  }

  zeroButton(pad) {
    const button = document.createElement("button");
    const textContent = `${pad.lastElementChild.textContent}: none, and I watched`;
    Object.assign(button, { type: "button", className: "plain", textContent });
    button.addEventListener("click", () => {
      this.write(this.inputOf(pad), 0);
      this.show();
    });
    return button;
  }
}

function remembered(key) {
  try {
    const { at, count } = JSON.parse(sessionStorage.getItem(key));
    return Date.now() - at < LONGEST_KEPT_MS ? count : null;
  } catch {
    return null;
  }
}

function remember(key, count) {
  try {
    sessionStorage.setItem(key, JSON.stringify({ at: Date.now(), count }));
  } catch {
    // Then a reload begins anew.
  }
}

function forget(key) {
  try {
    sessionStorage.removeItem(key);
  } catch {
    // Nothing was kept.
  }
}
