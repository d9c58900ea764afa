// Forms: what is filled in is kept on this device first, then sent from there, and what the office
// finds in it is told at the form.
import { askForBackgroundSending, kept, means, now } from "./device.js";
import { farewell, prepare } from "./leaving.js";
import { copyText, element, list } from "./markup.js";
import { shrunk } from "./pictures.js";
import { asText, sendOne } from "./sending.js";
import { newId } from "./uuid7.js";

const PATIENCE_MS = 4_000;

/** Let a form be kept and sent from here, for the job that the page is about. */
export function takeOver(form, jobHere) {
  const kind = form.dataset.entry || form.dataset.kind || "note";
  const inAddress = /^\/job\/([^/]+)/.exec(addressOf(form).pathname)?.[1];
  const job = form.elements.namedItem("job")?.value || jobHere || inAddress || "";
  const state = { kind, job, ready: prepare(kind, job), isBusy: false };
  renewIds(form, state);
  form.addEventListener("submit", (event) => {
    // A button that asks for no check asks for an answer, and keeps nothing.
    if (event.defaultPrevented || event.submitter?.formNoValidate) return;
    event.preventDefault();
    if (state.isBusy) return;
    setBusy(form, state, true);
    submitted(form, state, event.submitter).finally(() => setBusy(form, state, false));
  });
  fillWithDraft(form, state);
}

function addressOf(form) {
  return new URL(form.getAttribute("action") ?? location.pathname, location.href);
}

function setBusy(form, state, isBusy) {
  state.isBusy = isBusy;
  form.setAttribute("aria-busy", String(isBusy));
}

/** A page that is kept may be filled in many times: each time it is another entry. */
function renewIds(form, state) {
  set(form, "entry_id", newId(now()));
  if ("newJob" in form.dataset) {
    state.job = newId(now());
    set(form, "job", state.job);
  }
}

function set(form, name, value) {
  const field = form.elements.namedItem(name);
  if (field) field.value = value;
  else form.append(element("input", { type: "hidden", name, value }));
}

async function submitted(form, state, submitter) {
  set(form, "written_at", new Date(now()).toISOString());
  let item;
  try {
    item = await itemOf(form, state, submitter);
    if (kept === null) throw new DOMException("", "InvalidStateError");
    await kept.put(item);
  } catch (error) {
    await sendUnkept(form, item, error);
    return;
  }
  navigator.storage?.persist?.().catch(() => {});
  means.told();
  await sendKept(form, item, await settled(state.ready));
}

async function itemOf(form, { kind, job }, submitter) {
  const data = new FormData(form, submitter);
  const keepsPlace = [...data].some(([name, value]) => name.endsWith("keeps_location") && value === "yes");
  const fields = [];
  const files = [];
  let size = 0;
  for (const [name, value] of data) {
    if (typeof value === "string") {
      fields.push([name, value]);
      size += value.length;
    } else if (value.size > 0) {
      const file = keepsPlace ? value : await shrunk(value);
      files.push([name, { name: file.name, type: file.type, bytes: await file.arrayBuffer() }]);
      size += file.size;
    }
  }
  const title = form.dataset.title ?? document.querySelector("[data-title]")?.dataset.title ?? document.title;
  return {
    id: data.get("entry_id"), job, kind, title, url: addressOf(form).href, page: location.pathname,
    writtenAt: data.get("written_at"), fields, files, size, state: "sending", tries: 0,
    nextAt: 0, why: "", problems: [],
  };
}

async function settled(ready) {
  const late = new Promise((resolve) => setTimeout(resolve, PATIENCE_MS, { table: null, forecast: null }));
  return Promise.race([ready, late]).catch(() => ({ table: null, forecast: null }));
}

/** Send an entry that is kept; tell at once how it stands if that takes long. */
async function sendKept(form, item, ready) {
  form.querySelector("#form-problems")?.remove();
  const sent = sendOne(kept, means, item.id, false);
  const told = await Promise.race([sent, new Promise((resolve) => setTimeout(resolve, PATIENCE_MS))]);
  if (told?.kind === "kept") return goOn(item, told);
  if (told?.kind === "mend") return showProblems(form, told);
  const { shown, heading, state } = farewell(item, ready);
  document.querySelector("main").replaceChildren(shown);
  heading.focus();
  window.scrollTo(0, 0);
  const meaning = told ?? (state.append(" Still sending; you may go on."), await sent);
  tellOutcome(state, heading, item, meaning);
  await askForBackgroundSending();
}

function goOn(item, { problems }) {
  if (problems.length === 0) location.assign(item.job ? `/job/${item.job}#entry-${item.id}` : item.page);
  else location.assign(`/saved#${item.id}`);
}

function tellOutcome(state, heading, item, meaning) {
  if (meaning?.kind === "kept") {
    heading.textContent = "Saved at the office";
    state.textContent = "It has been sent.";
  } else if (meaning?.kind === "mend") {
    state.replaceChildren("Something in it is to be mended first: ", element("a", { href: `${item.page}#draft=${item.id}` }, "mend it"), ".");
  } else if (meaning?.kind === "refused") {
    state.textContent = `The office does not take it: ${meaning.why}. It stays on this phone.`;
  } else {
    const why = meaning?.why ?? "no signal";
    state.textContent = `${why[0].toUpperCase()}${why.slice(1)}: it is sent by itself as soon as it can be. You may close this page.`;
  }
}

/** Nothing can be kept here: send it straight away, and give the words back if that fails. */
async function sendUnkept(form, item, error) {
  const why =
    error.name === "QuotaExceededError"
      ? "This phone has no room left to keep it."
      : "This browser keeps nothing on the phone, perhaps because the window is a private one.";
  const button = element("button", { type: "button", class: "plain" }, "Copy as text");
  button.addEventListener("click", () => copyText(item ? asText(item) : "", button));
  const shown = element("div", { id: "form-problems", class: "problems", role: "alert", tabindex: "-1" },
    element("p", {}, `${why} Trying to send it now: stay on this page until it has gone.`), button);
  form.querySelector("#form-problems")?.remove();
  form.prepend(shown);
  shown.focus();
  const reached = await fetch("/today.json", { cache: "no-store" }).then((answer) => answer.ok).catch(() => false);
  // The browser's own way of sending goes on to the page that answers.
  if (reached) form.submit();
  else shown.firstChild.textContent = `${why} There is no signal either: copy the words, and save again when there is.`;
}

function showProblems(form, { why, problems }) {
  const line = ({ field, sentence }) => {
    const control = form.elements.namedItem(field);
    const first = control instanceof RadioNodeList ? control[0] : control;
    first?.setAttribute("aria-invalid", "true");
    if (first && !first.id) first.id = `field-${field}`;
    return first ? [element("a", { href: `#${first.id}` }, sentence)] : [sentence];
  };
  for (const wrong of form.querySelectorAll("[aria-invalid]")) wrong.removeAttribute("aria-invalid");
  const shown = element("div", { id: "form-problems", class: "problems", role: "alert", tabindex: "-1" },
    element("p", {}, why || "Something here is to be mended before the office takes it."),
    list("", problems, line),
    element("p", { class: "quiet" }, "Until then it is kept on this phone."));
  form.prepend(shown);
  shown.focus();
  shown.scrollIntoView({ block: "start" });
}

/** Fill a form with a draft that waits to be mended, asked for by "#draft=<id>". */
async function fillWithDraft(form, state) {
  const id = /^#draft=([0-9a-f-]{36})$/.exec(location.hash)?.[1];
  const item = id && kept !== null ? await kept.item(id) : undefined;
  if (item === undefined) return;
  state.job = item.job;
  const byName = Map.groupBy
    ? Map.groupBy(item.fields, ([name]) => name)
    : item.fields.reduce((all, one) => all.set(one[0], [...(all.get(one[0]) ?? []), one]), new Map());
  for (const control of form.elements) fill(control, (byName.get(control.name) ?? []).map(([, value]) => value), item);
  set(form, "entry_id", item.id);
  form.dispatchEvent(new Event("input", { bubbles: true }));
  showProblems(form, item);
}

function fill(control, values, item) {
  if (control.type === "file") {
    const given = new DataTransfer();
    for (const [name, file] of item.files) {
      if (name === control.name) given.items.add(new File([file.bytes], file.name, { type: file.type }));
    }
    control.files = given.files;
  } else if (control.type === "radio" || control.type === "checkbox") {
    control.checked = values.includes(control.value);
  } else if (control.name && values.length > 0) {
    control.value = values[0];
  }
}
