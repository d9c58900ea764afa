// Forms: what is filled in is kept on this device first, then sent from there, and what the office
// finds in it is told at the form.
import { askForBackgroundSending, kept, means, now } from "./device.js";
import {
  draftOf, dropDraft, fill, fillWithWords, grouped, isReturn, keepDraft, keptFrom, rememberKept,
  sayFilled, shows, startDraft,
} from "./drafts.js";
import { farewell, prepare } from "./leaving.js";
import { copyText, element, list, sentence, sizeWords, unfold } from "./markup.js";
import { shrunk } from "./pictures.js";
import { asText, PHOTOS, sendOne } from "./sending.js";
import { newId } from "./uuid7.js";

const PATIENCE_MS = 4_000;
const KEPT_BEFORE = "This was kept already. Kept once more, it becomes a correction.";
const LEFT_BEFORE = "Filled in again as you left it, not kept yet.";

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
  fillWithDraft(form, state).then((isFilled) => isFilled || takeUp(form, state)).catch(console.error);
  startDraft(form);
  window.addEventListener("pageshow", ({ persisted }) => {
    if (persisted && keptFrom(form)?.id === form.elements.namedItem("entry_id").value) sayFilled(form, KEPT_BEFORE);
  });
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
  const item = await itemOf(form, state, submitter).catch(() => null);
  const fault = faultOf(item, Number(form.dataset.mostBytes));
  if (fault !== "") {
    showProblems(form, { why: "Not kept yet.", problems: [{ field: PHOTOS, sentence: fault }] }, false);
    return;
  }
  try {
    if (kept === null) throw new DOMException("", "InvalidStateError");
    await kept.put(item);
  } catch (error) {
    await sendUnkept(form, item, error);
    return;
  }
  dropDraft(form);
  rememberKept(form, item);
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

/** What keeps an entry from being sent at all; only photographs can. */
function faultOf(item, mostBytes) {
  if (item === null) return "A photograph can no longer be read: choose it again.";
  if (!(item.size > mostBytes)) return "";
  return `Together they have ${sizeWords(item.size)}: choose fewer at once, at most ${sizeWords(mostBytes)}.`;
}

async function settled(ready) {
  const late = new Promise((resolve) => setTimeout(resolve, PATIENCE_MS, { table: null, forecast: null }));
  return Promise.race([ready, late]).catch(() => ({ table: null, forecast: null }));
}

/** Send an entry that is kept; tell at once how it stands if that takes long. */
async function sendKept(form, item, ready) {
  const sent = sendOne(kept, means, item.id, false);
  const told = await Promise.race([sent, new Promise((resolve) => setTimeout(resolve, PATIENCE_MS))]);
  if (told?.kind === "kept") return goOn(item, told);
  if (told?.kind === "mend") {
    keepDraft(form);
    return showProblems(form, told);
  }
  const { shown, heading, state } = farewell(item, ready);
  document.querySelector("main").replaceChildren(shown);
  heading.focus();
  window.scrollTo(0, 0);
  const meaning = told ?? (state.append(" Still sending; you may go on."), await sent);
  tellOutcome(state, heading, item, meaning);
  await askForBackgroundSending();
}

function goOn(item, { problems }) {
  if (problems.length === 0) location.assign(item.job ? `/job/${item.job}` : item.page);
  else location.assign(`/saved#${item.id}`);
}

function tellOutcome(state, heading, item, meaning) {
  if (meaning?.kind === "kept") {
    heading.textContent = "Saved at the office";
    state.textContent = "It has been sent.";
  } else if (meaning?.kind === "mend") {
    state.replaceChildren("Something in it is to be mended first: ", element("a", { href: `${item.page}#draft=${item.id}` }, "mend it"), ".");
  } else if (meaning?.kind === "refused") {
    state.textContent = `The office does not take it. ${sentence(meaning.why)} It stays on this phone.`;
  } else if (meaning === undefined) {
    state.textContent = "Another page of the app sends it. You may close this one.";
  } else {
    state.textContent = `${sentence(meaning.why)} It is sent by itself as soon as it can be. You may close this page.`;
  }
}

/** Nothing can be kept here: send it straight away, and give the words back if that fails. */
async function sendUnkept(form, item, error) {
  const why =
    error.name === "QuotaExceededError"
      ? "This phone has no room left to keep it."
      : "This browser keeps nothing on the phone, perhaps because the window is a private one.";
  const button = element("button", { type: "button", class: "plain" }, "Copy as text");
  button.addEventListener("click", () => copyText(asText(item), button));
  const shown = element("div", { id: "form-problems", class: "problems", role: "alert", tabindex: "-1" },
    element("p", {}, `${why} Trying to send it now: stay on this page until it has gone.`), button);
  form.querySelector("#form-problems")?.remove();
  form.prepend(shown);
  shown.focus();
  const reached = await fetch("/today.json", { cache: "no-store" }).then((answer) => answer.ok).catch(() => false);
  // The browser's own way of sending goes on to the page that answers.
  if (reached) {
    dropDraft(form);
    form.submit();
  }
  else shown.firstChild.textContent = `${why} There is no signal either: copy the words, and save again when there is.`;
}

function showProblems(form, { why, problems }, isKept = true) {
  form.querySelector("#form-problems")?.remove();
  clearFields(form);
  const line = (problem) => {
    const id = sayAtField(form, problem);
    return id ? [element("a", { href: `#${id}` }, problem.sentence)] : [problem.sentence];
  };
  const shown = element("div", { id: "form-problems", class: "problems", role: "alert", tabindex: "-1" },
    element("p", {}, why || "Something here is to be mended before the office takes it."),
    list("", problems, line),
    isKept ? element("p", { class: "quiet" }, "Until then it is kept on this phone.") : null);
  form.prepend(shown);
  unfold(form);
  shown.focus();
  shown.scrollIntoView({ block: "start" });
}

/** Say at a field what is wrong with it, as the office's own page does; gives its id. */
function sayAtField(form, { field, sentence: words }) {
  const found = form.elements.namedItem(field);
  const controls = found instanceof RadioNodeList ? [...found] : [found];
  const control = controls.find((one) => one?.type !== "hidden") ?? controls[0];
  if (!control) return "";
  control.id ||= `field-${field}`;
  const said = element("span", { class: "wrong", id: `${control.id}-wrong` }, words);
  const marked = control.closest("[role=radiogroup]") ?? control;
  marked.setAttribute("aria-invalid", "true");
  describe(marked, (ids) => [...ids, said.id]);
  (control.closest(".field, fieldset") ?? control.parentElement).append(said);
  unfold(control);
  return control.id;
}

function clearFields(form) {
  for (const said of form.querySelectorAll(".wrong")) said.remove();
  for (const marked of form.querySelectorAll("[aria-invalid]")) {
    marked.removeAttribute("aria-invalid");
    describe(marked, (ids) => ids.filter((id) => !/-wrong\d*$/.test(id)));
  }
}

function describe(marked, change) {
  const ids = change((marked.getAttribute("aria-describedby") ?? "").split(" ").filter(Boolean));
  if (ids.length > 0) marked.setAttribute("aria-describedby", ids.join(" "));
  else marked.removeAttribute("aria-describedby");
}

/** Fill a form with a draft that waits to be mended, asked for by "#draft=<id>". */
async function fillWithDraft(form, state) {
  const id = /^#draft=([0-9a-f-]{36})$/.exec(location.hash)?.[1];
  const item = id && kept !== null ? await kept.item(id) : undefined;
  if (item === undefined || isTakingBack(new FormData(form)) !== isTakingBack(new Map(item.fields))) return false;
  state.job = item.job;
  const byName = grouped(item.fields);
  for (const control of form.elements) {
    if (control.type === "file") giveFiles(control, item);
    else fill(control, byName.get(control.name));
  }
  keepOtherWords(form, item);
  set(form, "entry_id", item.id);
  form.dispatchEvent(new Event("input", { bubbles: true }));
  showProblems(form, item);
  return true;
}

/** Go on with what was typed here before, or with the entry that somebody has gone back to. */
async function takeUp(form, state) {
  const [draft, before] = [draftOf(form), keptFrom(form)];
  const isSame = draft ? draft.id === before?.id : isReturn() && state.kind !== "photo";
  const again = isSame ? before : null;
  const entry = again ?? (draft?.id && (await kept?.item(draft.id)));
  if (entry) {
    set(form, "entry_id", entry.id);
    state.job = entry.job;
    if ("newJob" in form.dataset) set(form, "job", entry.job);
  }
  const words = draft ?? again;
  if (!words || (draft && shows(form, draft))) return;
  fillWithWords(form, words.fields);
  sayFilled(form, draft ? LEFT_BEFORE : KEPT_BEFORE);
}

/** A page to correct an entry has two forms: one for its words, one to take it back. */
function isTakingBack(fields) {
  return fields.has("take_back");
}

function giveFiles(control, { files }) {
  const given = new DataTransfer();
  for (const [name, file] of files) {
    if (name === control.name) given.items.add(new File([file.bytes], file.name, { type: file.type }));
  }
  control.files = given.files;
}

/** What no field of this page can show any more goes along; of one name, the last word counts. */
function keepOtherWords(form, { fields }) {
  const shown = new FormData(form);
  const others = fields.filter(([name, value]) => value !== "" && !shown.getAll(name).includes(value));
  form.prepend(...others.map(([name, value]) => element("input", { type: "hidden", name, value })));
}
