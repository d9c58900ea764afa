// Ids made on the device: UUID version 7 (RFC 9562, section 5.7), so that a phone without signal
// can write for a day and nothing it hands in is ever taken for something else.

/**
 * @param {number} milliseconds since 1970
 * @param {Uint8Array} randomness ten random bytes, of which 74 bits are used
 */
export function newId(
  milliseconds,
  randomness = crypto.getRandomValues(new Uint8Array(10)),
) {
  const bytes = new Uint8Array(16);
  const view = new DataView(bytes.buffer);
  view.setUint16(0, Math.floor(milliseconds / 2 ** 32));
  view.setUint32(2, milliseconds % 2 ** 32);
  bytes.set(randomness, 6);
  bytes[6] = 0x70 | (bytes[6] & 0x0f);
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  const digits = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return digits.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
