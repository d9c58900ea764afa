import assert from "node:assert/strict";
import { test } from "node:test";
import { newId } from "../../lastbee/web/static/uuid7.js";

test("an id is the example of RFC 9562, appendix A.6", () => {
  // 017F22E2-79B0-7CC3-98C4-DC0C0C07398F: rand_a 0xCC3, rand_b 0x18C4DC0C0C07398F.
  const randomness = Uint8Array.from([0x0c, 0xc3, 0x18, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f]);
  assert.equal(newId(0x017f22e279b0, randomness), "017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
});

test("ids sort by the moment they were made, whatever the randomness", () => {
  const low = new Uint8Array(10);
  const high = new Uint8Array(10).fill(255);
  const moments = [0, 1, 2 ** 32 - 1, 2 ** 32, 1_784_030_400_000, 1_784_030_400_001];
  const ids = moments.map((at, place) => newId(at, place % 2 ? low : high));
  assert.deepEqual(ids, [...ids].sort());
});

test("version and variant stand where RFC 9562 wants them, in ids made at random", () => {
  const form = /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/;
  const ids = Array.from({ length: 200 }, () => newId(1_784_030_400_000));
  for (const id of ids) assert.match(id, form);
  assert.equal(new Set(ids).size, ids.length);
});
