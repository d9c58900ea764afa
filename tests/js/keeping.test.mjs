import assert from "node:assert/strict";
import { test } from "node:test";
import { asCopy, isWorthKeeping, nameOfFile, plan, sortOf } from "../../lastbee/web/static/keeping.js";

const OFFICE = "https://office.example";
const HTML = "text/html,application/xhtml+xml";

function sort(path, { method = "GET", mode = "navigate", accept = HTML, from = OFFICE } = {}) {
  return sortOf({ method, url: from + path, mode, accept }, OFFICE);
}

test("pages, files and pictures are answered from the device where they must be", () => {
  assert.deepEqual(["/", "/jobs?stage=open", "/job/1/visit", "/saved"].map((path) => sort(path)), Array(4).fill("page"));
  assert.equal(sort("/static/abc/lastbee.css", { mode: "no-cors", accept: "text/css" }), "file");
  assert.equal(sort("/picture/ff.jpg?small", { mode: "no-cors", accept: "image/*" }), "picture");
  assert.equal(sort("/job/1/advice.json", { mode: "cors", accept: "application/json" }), "page");
});

test("posts, exports, joining, papers and other sites never pass through what is kept", () => {
  for (const path of ["/export/all.zip", "/join/secret", "/import", "/job/1/report.pdf", "/job/1/job.toml", "/job/1/standing"]) {
    assert.equal(sort(path), "pass", path);
  }
  assert.equal(sort("/job/1/visit", { method: "POST" }), "pass");
  assert.equal(sort("/", { from: "https://elsewhere.example" }), "pass");
  assert.equal(sort("/today.json", { mode: "cors", accept: "*/*" }), "pass");
});

function answer(status, headers, changes = {}) {
  return Object.assign({ status, redirected: false, type: "basic", headers: new Headers(headers) }, changes);
}

test("only a whole page of the office itself is kept", () => {
  const html = { "content-type": "text/html; charset=utf-8" };
  assert.ok(isWorthKeeping(answer(200, html)));
  assert.ok(!isWorthKeeping(answer(403, html)));
  assert.ok(!isWorthKeeping(answer(422, html)));
  assert.ok(!isWorthKeeping(answer(200, html, { redirected: true })));
  assert.ok(!isWorthKeeping(answer(200, { ...html, "cache-control": "no-store" })));
  assert.ok(!isWorthKeeping(answer(200, { "content-type": "application/pdf" })));
});

test("a file is found under its name, whatever version a kept page asks for", () => {
  const names = new Set(["lastbee.css", "icons/app.svg", "vendor/idb.js"]);
  assert.equal(nameOfFile("/static/0123456789ab/lastbee.css", names), "lastbee.css");
  assert.equal(nameOfFile("/static/0123456789ab/vendor/idb.js", names), "vendor/idb.js");
  assert.equal(nameOfFile("/static/icons/app.svg", names), "icons/app.svg");
});

test("a copy is marked as one, and nothing else in it changes", () => {
  assert.equal(asCopy('<!doctype html>\n<html lang="en"><p><html></p>'), '<!doctype html>\n<html data-copy lang="en"><p><html></p>');
});

test("only what changed is fetched, and what was merely looked at goes in its turn", () => {
  const wanted = [{ url: "/", stamp: "2" }, { url: "/job/1", stamp: "a" }, { url: "/job/2", stamp: "b" }];
  const looked = Array.from({ length: 63 }, (_, n) => [`/job/old-${n}`, ""]);
  const { fetched, dropped } = plan(wanted, new Map([["/", "1"], ["/job/1", "a"], ...looked]));
  assert.deepEqual(fetched.map(({ url }) => url), ["/", "/job/2"]);
  assert.deepEqual(dropped, ["/job/old-0", "/job/old-1", "/job/old-2"]);
});
