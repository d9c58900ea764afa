import assert from "node:assert/strict";
import { test } from "node:test";
import {
  asText, bodyOf, due, handIn, meaningOf, sendAll, sendOne, summary, waitMs,
} from "../../lastbee/web/static/sending.js";

const NOW = 1_784_030_400_000;
const ALL = ["a1", "a2", "a3"];
const MISSING = { field: "count.out", sentence: "Count is missing." };

function entry(id, changes = {}) {
  return {
    id, job: "job-a", kind: "visit", title: "Bees behind the sign", url: "http://office/job/a/visit",
    writtenAt: `2026-07-14T12:00:0${id.at(-1)}.000Z`, fields: [["entry_id", id], ["count.out", "4"]],
    files: [], size: 10, state: "waiting", tries: 0, nextAt: 0, why: "", problems: [], ...changes,
  };
}

/** A store in memory with the methods of the device's own. */
function store(...items) {
  const here = new Map(items.map((item) => [item.id, item]));
  const sent = [];
  return {
    here, sent,
    items: async () => [...here.values()].sort((a, b) => (a.writtenAt < b.writtenAt ? -1 : 1)),
    item: async (id) => here.get(id),
    change: async (id, changes) => here.has(id) && here.set(id, { ...here.get(id), ...changes }),
    acknowledge: async (id, at, problems) => here.delete(id) && sent.push({ id, at, problems }),
  };
}

function json(status, told) {
  return new Response(JSON.stringify(told), { status, headers: { "content-type": "application/json" } });
}

function means(post, busy = new Set()) {
  return {
    post, now: () => NOW, told() {},
    alone: async (name, work) => void (busy.has(name) || (await work())),
  };
}

const posted = (options) => options.body.get("entry_id");

test("an entry leaves the device only by the office's word for that very entry", () => {
  const kept = (status, told) => meaningOf(status, told, "a").kind === "kept";
  assert.ok(kept(200, { kept: ["a"], was_there: [], problems: [] }));
  assert.ok(kept(200, { kept: [], was_there: ["a"], problems: [] }));
  for (const told of [null, {}, { kept: ["b"] }, { kept: true, was_there: true }, { kept: "a" }, { kept: [] }]) {
    assert.equal(kept(200, told), false);
  }
  for (const status of [302, 400, 401, 403, 404, 413, 422, 429, 500, 502, 503]) {
    assert.equal(kept(status, { kept: ["a"] }), false);
  }
});

test("what passes by itself is tried again, what does not is told as refused", () => {
  const kinds = Object.fromEntries([408, 425, 429, 500, 502, 503].map((s) => [s, meaningOf(s, null, "a").kind]));
  assert.deepEqual([...new Set(Object.values(kinds))], ["later"]);
  assert.deepEqual([400, 401, 403, 404].map((s) => meaningOf(s, null, "a").kind), Array(4).fill("refused"));
  assert.equal(meaningOf(422, { sentence: "Mend.", problems: [] }, "a").kind, "mend");
  assert.equal(meaningOf(403, { sentence: "Not joined." }, "a").why, "Not joined.");
});

test("what is too large waits for the person and says what to do", async () => {
  const kept = store(entry("a1"));
  const sentence = "That is too large to be sent at once.";
  await sendAll(kept, means(async () => json(413, { sentence, problems: [] })));
  const { state, problems } = kept.here.get("a1");
  assert.equal(state, "mend");
  assert.match(problems[0].sentence, /fewer or smaller pictures\.$/);
  assert.deepEqual(due([kept.here.get("a1")], NOW + 1e9, true), []);
});

test("a photograph that the office has not got stays on the phone, whatever became of the words", async () => {
  const problems = [{ field: "photos", sentence: "Photographs is damaged: choose the picture again." }];
  const kept = store(entry("a1"));
  await sendAll(kept, means(async () => json(200, { kept: ALL, problems })));
  const { state, problems: told } = kept.here.get("a1");
  assert.deepEqual([state, told, kept.sent], ["mend", problems, []]);
  assert.equal(meaningOf(200, { kept: ["a"], problems: [MISSING] }, "a").kind, "kept");
});

test("the sign-in page of a network is not taken for the office", async () => {
  const page = () => Promise.resolve(new Response("<h1>Welcome</h1>", { headers: { "content-type": "text/html" } }));
  assert.equal((await handIn(entry("a1"), true, page)).kind, "later");
});

test("a form is posted as it was filled in, repeated names and files with it", () => {
  const bytes = Uint8Array.from([1, 2, 3]).buffer;
  const body = bodyOf(entry("a1", {
    fields: [["done", "x"], ["done", "y"], ["notes", ""]],
    files: [["photos", { name: "cone.jpg", type: "image/jpeg", bytes }]],
  }));
  assert.deepEqual(body.getAll("done"), ["x", "y"]);
  assert.equal(body.get("notes"), "");
  assert.deepEqual([body.get("photos").name, body.get("photos").size], ["cone.jpg", 3]);
});

test("only what is sent as it is carries the outbox's mark", async () => {
  const seen = [];
  const post = async (_url, { headers }) => seen.push(headers["X-Outbox"]) && json(200, { kept: ALL });
  await handIn(entry("a1"), false, post);
  await handIn(entry("a1"), true, post);
  assert.deepEqual(seen, [undefined, "1"]);
});

test("what waits goes in the order of writing and is gone once the office has it", async () => {
  const kept = store(entry("a2"), entry("a1"), entry("a3", { job: "job-b" }));
  const order = [];
  const post = async (_url, options) => order.push(posted(options)) && json(200, { kept: ALL, problems: [] });
  await sendAll(kept, means(post));
  assert.deepEqual(order, ["a1", "a2", "a3"]);
  assert.equal(kept.here.size, 0);
  assert.deepEqual(kept.sent.map(({ id }) => id), order);
});

test("an office that stumbles over one holds back the same job and lets others go", async () => {
  const kept = store(entry("a1"), entry("a2"), entry("a3", { job: "job-b" }));
  const order = [];
  const post = async (_url, options) => {
    order.push(posted(options));
    return posted(options) === "a1" ? json(500, {}) : json(200, { kept: ALL, problems: [] });
  };
  await sendAll(kept, means(post));
  assert.deepEqual(order, ["a1", "a3"]);
  assert.deepEqual([...kept.here.keys()].sort(), ["a1", "a2"]);
});

test("what is refused stays, says why, and holds nothing back", async () => {
  const kept = store(entry("a1"), entry("a2"));
  const post = async (_url, options) =>
    posted(options) === "a1" ? json(404, { sentence: "There is no such job." }) : json(200, { kept: ALL });
  await sendAll(kept, means(post));
  assert.deepEqual([...kept.here.keys()], ["a1"]);
  const { state, why, tries, nextAt } = kept.here.get("a1");
  assert.deepEqual([state, why, tries, nextAt > NOW], ["refused", "There is no such job.", 1, true]);
});

test("without signal one try is enough to know, and nothing is lost", async () => {
  const kept = store(entry("a1"), entry("a2"), entry("a3", { job: "job-b" }));
  let tries = 0;
  const post = async () => {
    tries += 1;
    throw new TypeError("Failed to fetch");
  };
  await sendAll(kept, means(post));
  assert.equal(tries, 1);
  assert.equal(kept.here.size, 3);
  assert.equal(kept.here.get("a1").state, "waiting");
});

test("an entry that another page is sending is left to it, with all after it on that job", async () => {
  const kept = store(entry("a1"), entry("a2"), entry("a3", { job: "job-b" }));
  const order = [];
  const post = async (_url, options) => order.push(posted(options)) && json(200, { kept: ALL });
  await sendAll(kept, means(post, new Set(["lastbee-entry-a1"])));
  assert.deepEqual(order, ["a3"]);
});

test("an entry whose page was killed while it was sent is sent again", async () => {
  const kept = store(entry("a1", { state: "sending" }));
  await sendAll(kept, means(async () => json(200, { kept: [], was_there: ["a1"], problems: [] })));
  assert.equal(kept.here.size, 0);
});

test("a draft waits for its writer, until it is sent by hand", async () => {
  const kept = store(entry("a1", { state: "mend" }));
  const post = async () => json(200, { kept: ALL, problems: [MISSING] });
  await sendAll(kept, means(post), { isUrged: true });
  assert.equal(kept.here.size, 1);
  await sendOne(kept, means(post), "a1");
  assert.deepEqual(kept.sent[0].problems, [MISSING]);
});

test("waits double up to a quarter of an hour, a little apart from one phone to the next", () => {
  assert.deepEqual([1, 2, 3, 4].map((tries) => waitMs(tries, 0.5)), [5_000, 10_000, 20_000, 40_000]);
  assert.equal(waitMs(40, 0.5), 15 * 60_000);
  assert.ok(waitMs(3, 0) < waitMs(3, 0.5) && waitMs(3, 0.5) < waitMs(3, 1));
});

test("what is not due yet waits, unless there is reason to hurry", () => {
  const items = [entry("a1", { nextAt: NOW + 1 }), entry("a2", { nextAt: NOW })];
  assert.deepEqual(due(items, NOW).map(({ id }) => id), ["a2"]);
  assert.deepEqual(due(items, NOW, true).map(({ id }) => id), ["a1", "a2"]);
});

test("the header says how much is on this phone only, trouble first", () => {
  assert.equal(summary([]).words, "All saved at the office");
  assert.equal(summary([entry("a1"), entry("a2")]).words, "2 on this phone only");
  assert.match(summary([entry("a1", { state: "sending" })]).words, /^Sending/);
  assert.equal(summary([entry("a1"), entry("a2", { state: "refused" })]).look, "trouble");
});

test("the words of an entry can be rescued as text", () => {
  const text = asText(entry("a1", { fields: [["entry_id", "a1"], ["notes", "Bees at the sill"], ["sky", ""]] }));
  assert.match(text, /notes: Bees at the sill/);
  assert.doesNotMatch(text, /entry_id|sky/);
});
