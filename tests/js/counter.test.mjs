import assert from "node:assert/strict";
import { test } from "node:test";
import {
  clockWords, minutesOf, newCount, tallyOf, tapped, tooShortWords, undone, watched,
} from "../../lastbee/web/static/counter.js";
import { stepped } from "../../lastbee/web/static/stepper.js";

const running = (minutes) => ({ ...newCount(minutes), state: "running" });

test("the clock runs down by what was watched and stops at its end", () => {
  let count = running(2);
  assert.equal(clockWords(count), "2:00");
  count = watched(count, 53_000);
  assert.deepEqual([clockWords(count), count.state], ["1:07", "running"]);
  count = watched(count, 600_000);
  assert.deepEqual([clockWords(count), count.state, minutesOf(count)], ["0:00", "done", 2]);
});

test("minutes are those watched, also where somebody stops early", () => {
  assert.equal(minutesOf(watched(running(5), 90_000)), 1.5);
  // 100 s are 1 2/3 minutes.
  assert.equal(minutesOf(watched(running(5), 100_000)), 1.67);
});

test("time does not pass while nobody watches, nor backwards", () => {
  const paused = { ...running(5), state: "paused", watchedMs: 1000 };
  assert.equal(watched(paused, 60_000).watchedMs, 1000);
  assert.equal(watched(running(5), -500).watchedMs, 0);
});

test("each tap is a bee of its pad, the last can be taken back, none counts before the start", () => {
  let count = tapped(newCount(), "out");
  assert.equal(tallyOf(count, "out"), 0);
  count = ["out", "out", "in"].reduce(tapped, running(5));
  assert.deepEqual([tallyOf(count, "out"), tallyOf(count, "in")], [2, 1]);
  count = undone(count);
  assert.deepEqual([tallyOf(count, "out"), tallyOf(count, "in")], [2, 0]);
  assert.deepEqual(undone(newCount()).taps, []);
});

test("a count of less than half a minute is told of in seconds", () => {
  // Half a minute: the shortest count of the job file, docs/job-file.md.
  assert.match(tooShortWords(watched(running(5), 12_400)), /^12 s so far.* 30 s is the least.* 18 s more/);
  assert.match(tooShortWords(watched(running(5), 29_900)), /1 s more/);
  assert.equal(tooShortWords(watched(running(5), 30_000)), "");
});

test("steps go by halves, from nothing, from a comma, and not below the lowest", () => {
  const half = { step: 0.5, low: 0 };
  assert.deepEqual(["", "3", "3,5", "0", "none"].map((text) => stepped(text, 1, half)), [0.5, 3.5, 4, 0.5, 0.5]);
  assert.deepEqual(["", "3", "3.5", "0"].map((text) => stepped(text, -1, half)), [0, 2.5, 3, 0]);
  assert.equal(stepped("", 1, { step: 1, low: 1 }), 1);
  assert.equal(stepped("0.3", 1, { step: 0.1, low: 0 }).toFixed(1), "0.4");
});
