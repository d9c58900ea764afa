// The worker that lets the app open without signal. Files come from the device; pages from the
// office, or from their last copy where it does not answer soon. What is posted never passes here.
import { openKept } from "./kept.js";
import { asCopy, isWorthKeeping, nameOfFile, plan, sortOf } from "./keeping.js";
import { sendAll } from "./sending.js";

const VERSION = "";
const FILES = [];
const SHELL = ["/offline", "/saved", "/advice.json"];

const FOLDER = `/static/${VERSION}/`;
const FILE_CACHE = `lastbee-files-${VERSION}`;
const PAGE_CACHE = "lastbee-pages";
const PICTURE_CACHE = "lastbee-pictures";
const STAMP = "X-Kept-Stamp";
const KEPT_AT = "X-Kept-At";
const PATIENCE_MS = 3_000;
const AT_ONCE = 4;
const REFRESHED_FOR_MS = 60_000;
const names = new Set(FILES);
let refreshedAt = 0;

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));
self.addEventListener("fetch", (event) => {
  const { method, url, mode, headers } = event.request;
  const asked = { method, url, mode, accept: headers.get("accept") ?? "" };
  const sort = sortOf(asked, self.location.origin);
  if (/^\/join\//.test(new URL(url).pathname)) event.waitUntil(forgetPages());
  const answers = { file, picture, page };
  if (sort in answers) event.respondWith(answers[sort](event));
});
self.addEventListener("message", (event) => {
  if (event.data?.ask === "refresh") event.waitUntil(keepFirst(event.data.first ?? []).then(refresh));
});
self.addEventListener("sync", (event) => {
  if (event.tag === "lastbee-outbox") event.waitUntil(sendInBackground());
});

async function install() {
  const files = await caches.open(FILE_CACHE);
  await files.addAll(FILES.map((name) => FOLDER + name));
  const pages = await caches.open(PAGE_CACHE);
  // A device that has not joined may keep the files, and has no pages to keep.
  await Promise.allSettled(SHELL.map((url) => fetchAndKeep(pages, url, "")));
  await self.skipWaiting();
}

async function activate() {
  const others = (await caches.keys()).filter(
    (name) => name.startsWith("lastbee-files-") && name !== FILE_CACHE,
  );
  await Promise.all(others.map((name) => caches.delete(name)));
  await self.clients.claim();
}

async function file({ request }) {
  const { pathname } = new URL(request.url);
  const files = await caches.open(FILE_CACHE);
  const ours = await files.match(FOLDER + nameOfFile(pathname, names));
  if (ours !== undefined && pathname.startsWith(FOLDER)) return ours;
  try {
    return await fetch(request);
  } catch (error) {
    // A page kept under an older version makes do with the files there are.
    if (ours !== undefined) return ours;
    throw error;
  }
}

async function picture({ request }) {
  const pictures = await caches.open(PICTURE_CACHE);
  return (await pictures.match(request.url)) ?? fetch(request);
}

async function page(event) {
  const pages = await caches.open(PAGE_CACHE);
  const url = new URL(event.request.url);
  url.hash = "";
  const fresh = fetchAndKeep(pages, event.request, "", url.href);
  event.waitUntil(fresh.catch(() => {}));
  const copy = await copyOf(pages, url);
  if (copy === undefined) return fresh.catch(() => notKept(pages));
  const late = new Promise((resolve) => setTimeout(resolve, PATIENCE_MS));
  const first = await Promise.race([fresh.catch(() => undefined), late]);
  // An office that stumbles is no better than one that is out of reach.
  return first === undefined || first.status >= 500 ? marked(copy) : first;
}

async function copyOf(pages, url) {
  const exact = await pages.match(url.href);
  const isOfOneJob = url.pathname.startsWith("/job/");
  return exact ?? (isOfOneJob ? pages.match(url.href, { ignoreSearch: true }) : undefined);
}

async function notKept(pages) {
  const told = await pages.match("/offline");
  return told === undefined ? Response.error() : marked(told, 503);
}

async function marked(copy, status = 200) {
  if (!/^text\/html/.test(copy.headers.get("content-type") ?? "")) return copy;
  const headers = new Headers(copy.headers);
  headers.delete("content-length");
  headers.delete("content-encoding");
  return new Response(asCopy(await copy.text()), { status, headers });
}

/** Ask the office, and keep the answer if it may be kept. */
async function fetchAndKeep(pages, request, stamp, url = request) {
  const answer = await fetch(request, typeof request === "string" ? { cache: "no-cache" } : {});
  if (answer.status === 403) await forgetPages();
  if (isWorthKeeping(answer)) {
    // What is looked at anew keeps its stamp: the page is at least as fresh.
    const before = stamp === "" ? await pages.match(url) : undefined;
    const copy = answer.clone();
    await pages.put(url, await withStamp(copy, stamp || before?.headers.get(STAMP) || ""));
  }
  return answer;
}

async function withStamp(answer, stamp) {
  // All of it before it takes the place of the copy there is: the signal may go in the middle.
  const body = await answer.blob();
  const headers = new Headers(answer.headers);
  headers.set(STAMP, stamp);
  headers.set(KEPT_AT, new Date().toISOString());
  return new Response(body, { status: answer.status, headers });
}

/** Have the forms of the job that somebody has just opened, before anything else. */
async function keepFirst(urls) {
  const pages = await caches.open(PAGE_CACHE);
  const there = await stampsIn(pages);
  await few(urls.filter((url) => !there.has(url)), (url) => fetchAndKeep(pages, url, ""));
}

/** Bring what the office says is worth keeping up to date. */
async function refresh() {
  if (Date.now() - refreshedAt < REFRESHED_FOR_MS) return;
  const told = await fetch("/today.json", { cache: "no-cache" }).catch(() => Response.error());
  if (told.status === 403) await forgetPages();
  if (!told.ok) return;
  refreshedAt = Date.now();
  const wanted = await told.json();
  const pages = await caches.open(PAGE_CACHE);
  const { fetched, dropped } = plan(
    [...wanted.pages, ...SHELL.map((url) => ({ url, stamp: VERSION }))],
    await stampsIn(pages),
  );
  await Promise.all(dropped.map((url) => pages.delete(url)));
  await few(fetched, ({ url, stamp }) => fetchAndKeep(pages, url, stamp));
  await refreshPictures(wanted.pictures);
  for (const client of await self.clients.matchAll()) client.postMessage({ told: "refreshed" });
}

async function stampsIn(pages) {
  const found = new Map();
  for (const request of await pages.keys()) {
    const { pathname, search } = new URL(request.url);
    const copy = await pages.match(request);
    found.set(pathname + search, copy?.headers.get(STAMP) ?? "");
  }
  return found;
}

async function refreshPictures(wanted) {
  const pictures = await caches.open(PICTURE_CACHE);
  const there = new Set((await pictures.keys()).map(({ url }) => url.slice(self.location.origin.length)));
  const gone = [...there].filter((url) => !wanted.includes(url));
  await Promise.all(gone.map((url) => pictures.delete(url)));
  await few(wanted.filter((url) => !there.has(url)), (url) => pictures.add(url));
}

/** Do something for each, a few at a time; what fails is tried again at the next round. */
async function few(things, work) {
  const left = [...things];
  const worker = async () => {
    while (left.length > 0) await work(left.shift()).catch(() => {});
  };
  await Promise.all(Array.from({ length: AT_ONCE }, worker));
}

/** Nothing private stays on a device that does not belong to the firm, or joins it anew. */
async function forgetPages() {
  await Promise.all([caches.delete(PAGE_CACHE), caches.delete(PICTURE_CACHE)]);
}

async function sendInBackground() {
  const kept = await openKept();
  const tell = new BroadcastChannel("lastbee-outbox");
  const means = {
    post: (url, options) => fetch(url, options),
    now: () => Date.now(),
    alone: (name, work) =>
      navigator.locks.request(name, { ifAvailable: true }, (lock) => lock && work()),
    told: () => tell.postMessage("changed"),
  };
  await sendAll(kept, means, { isUrged: true });
  tell.close();
  const left = await kept.items();
  kept.close();
  // A rejected sync is tried again by the browser.
  if (left.some(({ state }) => state === "waiting")) throw new Error("entries still wait");
}
