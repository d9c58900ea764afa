// This device: what it keeps, what time it is at the office, and how what it keeps goes there.
import { officeClock } from "./clock.js";
import { openKept } from "./kept.js";
import { sendAll } from "./sending.js";

const LOOK_SOON_MS = 1_000;

/** Name of the event by which this window hears of any change on the device. */
export const CHANGED = "lastbee-changed";

const channel = "BroadcastChannel" in window ? new BroadcastChannel("lastbee-outbox") : null;
const underWay = new Set();
export const kept = await openKept().catch(() => null);
export const now = await officeClock(kept).catch(() => () => Date.now());

/** What sending goes by; its waits go by the device's own clock, which nobody else reads. */
export const means = {
  post: (url, options) => fetch(url, options),
  now: () => Date.now(),
  alone,
  told() {
    channel?.postMessage("changed");
    window.dispatchEvent(new Event(CHANGED));
  },
};

/** Run `work` unless it runs already under that name, here or in another tab. */
async function alone(name, work) {
  if (navigator.locks) {
    await navigator.locks.request(name, { ifAvailable: true }, (lock) => lock && work());
  } else if (!underWay.has(name)) {
    underWay.add(name);
    await work().finally(() => underWay.delete(name));
  }
}

/** Send what waits; `isUrged` where there is reason to think that it may go now. */
export async function send(wish) {
  if (kept === null) return;
  await sendAll(kept, means, wish);
  // Somebody else is at it, perhaps a page that has just been left: look again soon.
  const isUnderWay = (await kept.items()).some(({ state }) => state === "sending");
  if (isUnderWay) setTimeout(send, LOOK_SOON_MS, wish);
  await askForBackgroundSending();
}

/** Have the browser send it when there is signal, even with the app closed. */
export async function askForBackgroundSending() {
  const waits = kept !== null && (await kept.items()).some(({ state }) => state === "waiting");
  if (!waits || !("SyncManager" in window)) return;
  const { sync } = await navigator.serviceWorker.ready;
  await sync.register("lastbee-outbox").catch(() => {});
}

channel?.addEventListener("message", () => window.dispatchEvent(new Event(CHANGED)));
