import assert from "node:assert/strict";
import { test } from "node:test";
import { degreesC, leaves, writtenIn } from "../../lastbee/web/static/advice.js";
import { momentWords } from "../../lastbee/web/static/clock.js";
import { sentence, sizeWords } from "../../lastbee/web/static/markup.js";
import { smaller } from "../../lastbee/web/static/pictures.js";

test("a filled-in form is read with its units and ticks", () => {
  const written = writtenIn([
    ["temperature", "59"], ["temperature:unit", "F"], ["cluster:tick", "yes"], ["did.added_box:tick", "yes"],
    ["did.gave_brood:tick", "yes"], ["did.gave_brood", "2"], ["box.gain", " "], ["cone", ""], ["notes", "x"],
  ]);
  assert.deepEqual(Object.fromEntries(written), {
    temperature: "59 F", cluster: "none", "did.added_box": "yes", "did.gave_brood": "2", notes: "x",
  });
});

test("leaves of a tree stand under their dotted keys", () => {
  assert.deepEqual([...leaves({ a: { b: 1, c: { d: false } }, e: null })], [["a.b", 1], ["a.c.d", false], ["e", null]]);
});

test("temperatures are read by the fixed points of both scales", () => {
  // Water freezes at 32 F and boils at 212 F; the scales meet at -40.
  const units = [
    { spellings: ["c", "°c"], factor: 1, offset: 0 },
    { spellings: ["f", "°f"], factor: 5 / 9, offset: -32 },
  ];
  const read = (text) => Math.round(degreesC(text, units) * 1e9) / 1e9;
  assert.deepEqual(["32 F", "212°F", "-40 F", "−40 C", "21,5 ° C"].map(read), [0, 100, -40, -40, 21.5]);
  assert.deepEqual(["24", "24 K", "warm", 24, "1,500 C"].map((text) => degreesC(text, units)), Array(5).fill(null));
});

test("a picture keeps its shape when it is made smaller, and is never made larger", () => {
  assert.deepEqual(smaller(4000, 3000), { width: 1600, height: 1200 });
  assert.deepEqual(smaller(3000, 4000), { width: 1200, height: 1600 });
  assert.deepEqual(smaller(800, 600), { width: 800, height: 600 });
});

test("moments are told in the zone of the office", () => {
  const moment = Date.parse("2026-07-14T17:05:00Z");
  const there = "2026-07-14T08:00:00-04:00";
  assert.equal(momentWords(moment, undefined, there), "14 Jul, 13:05");
  assert.equal(momentWords(moment, undefined, "2026-07-14T08:00:00+09:30"), "15 Jul, 02:35");
  assert.equal(momentWords(moment, Date.parse("2026-07-15T03:59:00Z"), there), "13:05");
  assert.equal(momentWords(moment, Date.parse("2026-07-15T04:00:00Z"), there), "14 Jul, 13:05");
});

test("sizes are told as people say them", () => {
  const sizes = [12, 1_234, 2_345_678, 999_949_999, 10_737_500_000];
  assert.deepEqual(sizes.map(sizeWords), ["under 1 kB", "1 kB", "2.3 MB", "999.9 MB", "10.7 GB"]);
});

test("words become a sentence of their own, with one full stop", () => {
  assert.deepEqual(["no signal", "Not joined."].map(sentence), ["No signal.", "Not joined."]);
});
