// Handing entries in: what is sent, in which order, when again, and what an answer means.
// An entry leaves the device only when the office says that it has it.

const SHORTEST_WAIT_MS = 5_000;
const LONGEST_WAIT_MS = 15 * 60_000;
const CONNECTING_MS = 30_000;
// The field of photographs on every form.
export const PHOTOS = "photos";
// It does not get smaller by itself, so it waits for whoever wrote it.
const TOO_LARGE = "It is too large to be sent at once: send fewer or smaller pictures.";
// Slower than this, a connection is given up and tried again later.
const SLOWEST_BYTES_PER_MS = 4;

/** States of an entry on the device. */
export const STATES = {
  sending: "being sent",
  waiting: "waits for signal",
  mend: "to be mended before it is sent",
  refused: "refused by the office",
};

/** The form as it was filled in, ready to be posted. */
export function bodyOf(item) {
  const body = new FormData();
  for (const [name, value] of item.fields) body.append(name, value);
  for (const [name, file] of item.files) {
    body.append(name, new File([file.bytes], file.name, { type: file.type }));
  }
  return body;
}

/**
 * Post one entry.
 *
 * @param {object} item
 * @param {boolean} asIs whether the office is to keep it even if something in it must be mended
 * @param {typeof fetch} post
 * @returns {Promise<{kind: "kept" | "mend" | "later" | "refused", why: string, problems: object[]}>}
 */
export async function handIn(item, asIs, post) {
  const headers = { Accept: "application/json", ...(asIs ? { "X-Outbox": "1" } : {}) };
  const patienceMs = CONNECTING_MS + Math.ceil(item.size / SLOWEST_BYTES_PER_MS);
  const request = {
    method: "POST",
    body: bodyOf(item),
    headers,
    credentials: "same-origin",
    cache: "no-store",
    signal: AbortSignal.timeout(patienceMs),
  };
  try {
    const answer = await post(item.url, request);
    return meaningOf(answer.status, await said(answer), item.id);
  } catch (error) {
    const why = error.name === "TimeoutError" ? "the connection was too slow" : "no signal";
    return { kind: "later", why, problems: [], isNetwork: true };
  }
}

/** What an answer means for the entry. */
export function meaningOf(status, told, id) {
  const problems = told?.problems ?? [];
  if (status >= 200 && status < 300) {
    if (names(told?.kept, id) || names(told?.was_there, id)) {
      // A photograph that the office cannot read is nowhere else: the phone keeps it.
      if (!problems.some(({ field }) => field === PHOTOS)) return { kind: "kept", why: "", problems };
      return { kind: "mend", why: "The office has the words, but not every photograph.", problems };
    }
    const why = "the answer did not come from the office; a network may want you to sign in first";
    return { kind: "later", why, problems: [] };
  }
  if (status === 413) return { kind: "mend", why: "", problems: [{ field: PHOTOS, sentence: TOO_LARGE }] };
  if (status === 422) return { kind: "mend", why: told?.sentence ?? "", problems };
  const why = told?.sentence ?? `the office answered with error ${status}`;
  const isPassing = status >= 500 || [408, 425, 429].includes(status);
  return { kind: isPassing ? "later" : "refused", why, problems };
}

function names(ids, id) {
  return Array.isArray(ids) && ids.includes(id);
}

async function said(answer) {
  const type = answer.headers.get("content-type") ?? "";
  return type.includes("json") ? answer.json() : null;
}

/** How long to wait after so many tries, with some chance so that phones do not come at once. */
export function waitMs(tries, chance = Math.random()) {
  const whole = Math.min(LONGEST_WAIT_MS, SHORTEST_WAIT_MS * 2 ** Math.max(0, tries - 1));
  return Math.round(whole * (0.75 + 0.5 * chance));
}

/** Entries to send now, in the order in which they were written. */
export function due(items, now, isUrged = false) {
  return items.filter(
    ({ state, nextAt }) => state !== "mend" && (isUrged || (nextAt ?? 0) <= now),
  );
}

/**
 * Send what waits, one after the other.
 *
 * What belongs to one job goes in the order in which it was written: what cannot be sent yet
 * holds back what was written after it. What the office refuses holds nothing back.
 *
 * @param {object} kept the device's store
 * @param {object} means `post` as fetch; `now()` in milliseconds; `alone(name, work)` runs work
 *   unless somebody else runs under that name; `told()` is called after every change
 * @param {{isUrged?: boolean}} wish
 */
export async function sendAll(kept, means, { isUrged = false } = {}) {
  await means.alone("lastbee-outbox", async () => {
    const held = new Set();
    for (const { id, job } of due(await kept.items(), means.now(), isUrged)) {
      if (held.has(job)) continue;
      const meaning = await sendOne(kept, means, id);
      if (meaning?.isNetwork) return;
      const isAtIt = meaning === undefined && (await kept.item(id)) !== undefined;
      if (isAtIt || meaning?.kind === "later") held.add(job);
    }
  });
}

/** Send one entry as it is, unless another page is at it or it has gone. */
export async function sendOne(kept, means, id, asIs = true) {
  let meaning;
  await means.alone(`lastbee-entry-${id}`, async () => {
    const item = await kept.item(id);
    if (item === undefined) return;
    await kept.change(id, { state: "sending", triedAt: means.now() });
    means.told();
    meaning = await handIn(item, asIs, means.post);
    await settle(kept, item, meaning, means.now());
    means.told();
  });
  return meaning;
}

async function settle(kept, item, { kind, why, problems }, now) {
  if (kind === "kept") {
    await kept.acknowledge(item.id, now, problems, item.writtenAt);
    return;
  }
  const tries = item.tries + 1;
  const state = kind === "later" ? "waiting" : kind;
  await kept.change(item.id, { state, why, problems, tries, nextAt: now + waitMs(tries) });
}

/** What the header says: a word on the state of everything, and how it is to look. */
export function summary(items) {
  const count = (...states) => items.filter(({ state }) => states.includes(state)).length;
  if (items.length === 0) return { words: "All saved at the office", look: "saved" };
  if (count("refused")) {
    return { words: `${count("refused")} refused, on this phone only`, look: "trouble" };
  }
  if (count("mend")) return { words: `${count("mend")} to mend, on this phone only`, look: "trouble" };
  if (count("sending")) return { words: `Sending ${items.length}…`, look: "waiting" };
  return { words: `${items.length} on this phone only`, look: "waiting" };
}

/** The words of an entry, to be rescued by hand. */
export function asText(item) {
  const hidden = ["entry_id", "device", "written_at", "replaces", "job"];
  const lines = item.fields
    .filter(([name, value]) => value !== "" && !hidden.includes(name))
    .map(([name, value]) => `${name}: ${value}`);
  const files = item.files.map(([, file]) => `(with the picture ${file.name})`);
  return [`${item.kind}, ${item.title}`, `written ${item.writtenAt}`, ...lines, ...files].join("\n");
}
