// The page that says what is saved where: entries that wait on this phone, what was sent, and
// the pages that open without signal.
import { momentWords } from "./clock.js";
import { copyText, element, list, sizeWords } from "./markup.js";
import { CHANGED, kept, means, send } from "./device.js";
import { asText, sendOne, STATES } from "./sending.js";

const here = (name) => document.querySelector(`[data-saved="${name}"]`);

async function fill() {
  await Promise.all([fillWaiting(), fillSent(), fillPages(), fillRoom()]);
}

async function fillWaiting() {
  if (kept === null) {
    here("waiting").replaceChildren(
      element("p", { class: "problems" }, "This browser keeps nothing on the phone, perhaps because the window is a private one. What you save is sent straight away and is lost without signal."),
    );
    return;
  }
  const items = await kept.items();
  const none = element("p", { class: "done" }, "Nothing waits here: all is saved at the office.");
  const all = element("p", { class: "buttons" }, element("button", { type: "button", onclick: () => send({ isUrged: true }) }, "Send all now"));
  here("waiting").replaceChildren(...(items.length === 0 ? [none] : [all, element("ul", { class: "cards" }, ...items.map(card))]));
  if (location.hash) document.getElementById(location.hash.slice(1))?.scrollIntoView();
}

function card(item) {
  const facts = [
    ["Written", momentWords(Date.parse(item.writtenAt))],
    ["Size", sizeWords(item.size)],
    ["State", STATES[item.state]],
    ["Tries", item.tries],
    ...(item.why ? [["Last answer", item.why]] : []),
    ...(item.nextAt > Date.now() ? [["Tried again in", `${Math.ceil((item.nextAt - Date.now()) / 1000)} s`]] : []),
  ];
  return element(
    "li",
    { class: "card", id: item.id, "data-state": item.state },
    element("h3", {}, `${item.kind}: ${item.title}`),
    element("dl", { class: "pairs" }, ...facts.flatMap(([name, value]) => [element("dt", {}, name), element("dd", {}, String(value))])),
    list("problems", item.problems, ({ sentence }) => [sentence]),
    element("details", {}, element("summary", {}, "See what was written"), list("", asText(item).split("\n"), (line) => [line])),
    buttons(item),
  );
}

function buttons(item) {
  const isDraft = ["mend", "refused"].includes(item.state);
  const send = element("button", { type: "button", onclick: () => sendNow(item) }, isDraft ? "Send as it is" : "Send now");
  const copy = element("button", { type: "button", class: "plain" }, "Copy as text");
  copy.addEventListener("click", () => copyText(asText(item), copy));
  const drop = element("button", { type: "button", class: "risky" }, "Throw away");
  drop.addEventListener("click", () => discard(item, drop));
  const mend = element("a", { class: "button", href: `${item.page}#draft=${item.id}` }, "Mend it");
  return element("p", { class: "buttons" }, isDraft ? mend : null, send, copy, drop);
}

async function sendNow({ id }) {
  await sendOne(kept, means, id);
}

/** Only a second press on the same button throws words away. */
async function discard({ id }, button) {
  if (button.dataset.asked !== "yes") {
    button.dataset.asked = "yes";
    button.textContent = "Press again: this is nowhere else";
    return;
  }
  await kept.discard(id);
  means.told();
}

async function fillSent() {
  const notes = kept === null ? [] : await kept.sent();
  const shown = list("cards", notes, (note) => [
    element("h3", {}, `${note.kind}: ${note.title}`),
    element("p", { class: "quiet" }, `written ${momentWords(Date.parse(note.writtenAt))}`),
    list("problems", note.problems, ({ sentence }) => [sentence]),
    note.problems.length > 0 && note.job
      ? element("p", {}, element("a", { class: "button", href: `/job/${note.job}/correct/${note.id}` }, "Mend it"))
      : null,
  ]);
  for (const [index, line] of [...(shown?.children ?? [])].entries()) {
    line.classList.add("card");
    line.id = notes[index].id;
  }
  here("sent").replaceChildren(shown ?? element("p", { class: "quiet" }, "Nothing was sent from this phone yet."));
}

async function fillPages() {
  if (!window.isSecureContext || !("caches" in window)) {
    here("pages").replaceChildren(
      element("p", { class: "caution" }, "Pages cannot be kept here: browsers allow it only where the app is served with a certificate (https) or on the machine itself. What you write down is kept on the phone all the same."),
    );
    return;
  }
  const pages = await caches.open("lastbee-pages");
  const found = await Promise.all((await pages.keys()).map((request) => copyAt(pages, request)));
  const named = found
    .filter(({ url, title }) => title !== null && !["/saved", "/offline"].includes(url))
    .sort((a, b) => a.title.localeCompare(b.title));
  here("pages").replaceChildren(
    list("", named, ({ url, title, at }) => [
      element("a", { href: url }, title), ` as of ${at === null ? "an earlier visit" : momentWords(at)}`,
    ]) ?? element("p", { class: "quiet" }, "No page is kept yet: open the app once with signal."),
  );
}

async function copyAt(pages, request) {
  const copy = await pages.match(request);
  const text = /html/.test(copy?.headers.get("content-type") ?? "") ? await copy.text() : "";
  const page = new DOMParser().parseFromString(text, "text/html");
  const at = Date.parse(page.body.dataset.now ?? "");
  const { pathname, search } = new URL(request.url);
  return { url: pathname + search, title: text ? page.title.replace(/ · [^·]*$/, "") : null, at: Number.isNaN(at) ? null : at };
}

async function fillRoom() {
  const { usage, quota } = (await navigator.storage?.estimate?.()) ?? {};
  if (usage === undefined) return;
  const stays = await navigator.storage.persisted?.();
  here("room").textContent = `${sizeWords(usage)} used of ${sizeWords(quota)} that the browser allows. ${
    stays ? "The browser has promised not to clear it." : "The browser may clear it when the phone runs out of room: send soon."
  }`;
}

window.addEventListener(CHANGED, fill);
navigator.serviceWorker?.addEventListener("message", fillPages);
await fill();
