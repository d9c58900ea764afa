// Counts bees by taps against a clock that runs down, and writes count and minutes into the
// plain inputs below it. Only time that somebody watched is counted: with the screen off or the
// page gone the clock stands still, and what was counted so far is still there afterwards.

const TICK_MS = 200;
const DEFAULT_MINUTES = 5;
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

/**
 * Bring a counter of a page to life.
 *
 * @param {HTMLFieldSetElement} fieldset
 * @param {(input: HTMLInputElement, value: unknown) => void} write
 */
export function startCounter(fieldset, write) {
  const find = (selector) => fieldset.querySelector(selector);
  const tally = find(".tally");
  const pads = [...fieldset.querySelectorAll("[data-pad]")];
  const inputOf = (name) => fieldset.querySelector(`input[name="${name}"]`);
  const minutes = [...fieldset.querySelectorAll(".by-hand input")].find(({ name }) => name.endsWith("minutes"));
  const key = `count ${location.pathname} ${fieldset.dataset.counter}`;
  let count = remembered(key) ?? newCount();
  let lastMs = 0;
  let ticking = 0;
  let lock = null;

  function change(next) {
    const before = count.state;
    count = next;
    remember(key, count);
    if (before === "running" && count.state === "done") finish();
    if (before !== count.state) follow();
    show();
  }

  function follow() {
    clearInterval(ticking);
    if (count.state === "running") {
      lastMs = performance.now();
      ticking = setInterval(tick, TICK_MS);
      stayAwake();
    } else {
      lock?.release?.().catch(() => {});
      lock = null;
    }
  }

  function tick() {
    const ms = performance.now();
    const passed = ms - lastMs;
    lastMs = ms;
    // A page that slept for longer than a tick can explain was not looked at.
    change(passed > 10 * TICK_MS ? { ...watched(count, TICK_MS), state: "paused" } : watched(count, passed));
  }

  function pause() {
    if (count.state !== "running") return;
    change({ ...watched(count, performance.now() - lastMs), state: "paused" });
  }

  async function stayAwake() {
    try {
      lock = await navigator.wakeLock?.request("screen");
    } catch {
      lock = null;
    }
  }

  function finish() {
    navigator.vibrate?.([200, 100, 200]);
    const [first, ...others] = pads.map(({ dataset }) => dataset.pad);
    write(minutes, minutesOf(count));
    write(inputOf(first), tallyOf(count, first));
    for (const pad of others) {
      const many = tallyOf(count, pad);
      write(inputOf(pad), many > 0 ? many : "");
    }
  }

  /** Nobody tapped: a zero is a finding only for those who watched. */
  function askForZeros() {
    const open = pads.slice(1).filter(({ dataset }) => {
      return count.state === "done" && tallyOf(count, dataset.pad) === 0 && inputOf(dataset.pad).value === "";
    });
    find(".zeros").replaceChildren(
      ...open.map(({ dataset, lastElementChild }) => {
        const button = document.createElement("button");
        Object.assign(button, { type: "button", className: "plain" });
        button.textContent = `${lastElementChild.textContent}: none, and I watched`;
        button.addEventListener("click", () => {
          write(inputOf(dataset.pad), 0);
          show();
        });
        return button;
      }),
    );
  }

  function show() {
    tally.dataset.state = count.state;
    find(".clock").textContent = clockWords(count);
    find(".state").textContent = SAID[count.state] ?? `Counted for ${minutesOf(count)} min and written below.`;
    find("[data-do=start]").textContent = { ready: "Start", running: "Stop", paused: "Go on", done: "Again" }[count.state];
    find("[data-do=undo]").disabled = count.taps.length === 0;
    for (const button of fieldset.querySelectorAll("[data-minutes]")) {
      button.setAttribute("aria-pressed", String(Number(button.dataset.minutes) === count.minutes));
      button.disabled = count.state === "running";
    }
    for (const pad of pads) {
      pad.setAttribute("aria-disabled", String(count.state !== "running"));
      pad.firstElementChild.textContent = String(tallyOf(count, pad.dataset.pad));
    }
    askForZeros();
  }

  const presses = {
    ready: () => change({ ...count, state: "running" }),
    paused: () => change({ ...count, state: "running" }),
    running: () => change({ ...watched(count, performance.now() - lastMs), state: "done" }),
    done: () => change({ ...newCount(count.minutes), state: "running" }),
  };
  find("[data-do=start]").addEventListener("click", () => presses[count.state]());
  find("[data-do=undo]").addEventListener("click", () => {
    change(undone(count));
    if (count.state === "done") finish();
  });
  for (const button of fieldset.querySelectorAll("[data-minutes]")) {
    button.addEventListener("click", () => {
      const longer = Number(button.dataset.minutes);
      const goesOn = count.state === "paused" && longer * 60_000 > count.watchedMs;
      change(goesOn ? { ...count, minutes: longer } : newCount(longer));
    });
  }
  for (const pad of pads) {
    // A bee is counted when the finger comes down, not when it leaves.
    pad.addEventListener("pointerdown", (event) => {
      if (event.button === 0) tap(pad);
    });
    pad.addEventListener("keydown", (event) => {
      if ([" ", "Enter"].includes(event.key) && !event.repeat) tap(pad);
    });
  }

  function tap(pad) {
    if (count.state !== "running") return;
    change(tapped(count, pad.dataset.pad));
    navigator.vibrate?.(25);
    pad.classList.add("hit");
    setTimeout(() => pad.classList.remove("hit"), 90);
  }

  document.addEventListener("visibilitychange", () => document.visibilityState === "hidden" && pause());
  window.addEventListener("pagehide", pause);
  // Before anybody else reads the form: a count that still runs ends with it.
  window.addEventListener("submit", ({ target }) => target === fieldset.form && hurry(), true);
  if (count.state === "running") count = { ...count, state: "paused" };
  if (count.state === "done" && minutes.value === "") finish();
  tally.hidden = false;
  show();

  function hurry() {
    pause();
    if (count.state === "paused") {
      count = { ...count, state: "done" };
      finish();
    }
    forget(key);
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
