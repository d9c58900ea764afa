// Whatever is written down is on this device first, and sent from there: a page that is closed in
// the middle of it loses nothing. The header says at all times what is saved where.
import { momentWords } from "./clock.js";
import { CHANGED, kept, now, send } from "./device.js";
import { takeOver } from "./handing_in.js";
import { element, list } from "./markup.js";
import { STATES, summary } from "./sending.js";
import { newId } from "./uuid7.js";

const LOOK_AGAIN_MS = 20_000;
const REFRESH_MS = 10 * 60_000;

// The header.

async function show() {
  const items = kept === null ? [] : await kept.items();
  const chip = document.getElementById("saved-state");
  const { words, look } = summary(items);
  if (kept === null) {
    Object.assign(chip, { textContent: "Nothing can be kept on this phone" });
    chip.dataset.state = "trouble";
  } else if (chip.textContent !== words) {
    chip.textContent = words;
    chip.dataset.state = look;
  }
  showItemsOfJob(items);
}

function showCopy() {
  if (!("copy" in document.documentElement.dataset) || !document.body.dataset.now) return;
  const at = momentWords(Date.parse(document.body.dataset.now), now());
  const told = element("span", { class: "tag is-soon", id: "copy-state" }, `Copy of ${at}, no signal`);
  document.getElementById("saved-state").before(told);
}

/** A page that comes back as it was left may be out of date, unless somebody writes in it. */
async function renewReturned() {
  if (document.querySelector("form[method=post] :is(textarea, input:not([type=hidden]))")) return;
  try {
    await fetch(location.href, { headers: { Accept: "text/html" } });
    location.reload();
  } catch {
    document.documentElement.dataset.copy = "";
    document.getElementById("copy-state")?.remove();
    showCopy();
  }
}

function jobHere() {
  return document.querySelector("body[data-job], main[data-job], main > [data-job]")?.dataset.job ?? "";
}

function showItemsOfJob(items) {
  document.getElementById("not-yet-sent")?.remove();
  const job = jobHere();
  const ours = items.filter((item) => item.job === job);
  if (job === "" || ours.length === 0 || document.querySelector(".farewell")) return;
  const shown = element(
    "section",
    { id: "not-yet-sent", class: "caution" },
    element("b", {}, "On this phone, not yet sent"),
    list("", ours, (item) => [
      element("a", { href: `/saved#${item.id}` }, `${item.kind}, ${momentWords(Date.parse(item.writtenAt))}`),
      `: ${STATES[item.state]}`,
    ]),
  );
  document.querySelector("main").prepend(shown);
}

// The worker.

async function startWorker() {
  if (!("serviceWorker" in navigator)) return;
  await navigator.serviceWorker.register("/service-worker.js", { type: "module", updateViaCache: "none" });
  askForRefresh();
  setInterval(askForRefresh, REFRESH_MS);
}

async function askForRefresh() {
  const { active } = await navigator.serviceWorker.ready;
  active?.postMessage({ ask: "refresh", first: formsHere() });
}

/** What the buttons of a job's page lead to: wanted first where the signal may go any moment. */
function formsHere() {
  const job = document.querySelector("main.job[data-job]")?.dataset.job;
  if (!job || "copy" in document.documentElement.dataset) return [];
  const buttons = document.querySelectorAll(`main a.button[href^="/job/${job}/"]`);
  return [...new Set([...buttons].map((one) => one.pathname)), `/job/${job}/advice.json`];
}

// The start.

window.addEventListener(CHANGED, show);
window.addEventListener("online", () => send({ isUrged: true }));
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && send({ isUrged: true }));
window.addEventListener("pageshow", ({ persisted }) => persisted && renewReturned());
setInterval(send, LOOK_AGAIN_MS);
showCopy();
// What was written from a copy of this page before has the id that the copy came with.
for (const field of document.querySelectorAll("form:not([data-entry]) [name=entry_id]")) field.value = newId(now());
for (const form of document.querySelectorAll("form[data-entry]")) takeOver(form, jobHere());
show();
startWorker().catch((error) => console.warn("pages cannot be kept:", error));
send({ isUrged: true });
