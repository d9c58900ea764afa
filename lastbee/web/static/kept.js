// What this device keeps until the office has it: entries with their files, in the browser's own
// database. Nothing leaves it but by the office's word that it is kept there.
import { openDB } from "./vendor/idb.js";

const NOTES_KEPT = 50;
// A phone whose battery fails the next moment must still have it.
const TO_DISK = { durability: "strict" };

/** Open the device's store; rejects where the browser keeps nothing (a private window). */
export async function openKept(name = "lastbee") {
  const db = await openDB(name, 1, {
    upgrade(made) {
      made.createObjectStore("items", { keyPath: "id" });
      made.createObjectStore("sent", { keyPath: "id" });
      made.createObjectStore("facts");
    },
    blocking() {
      db.close();
    },
  });
  return new Kept(db);
}

class Kept {
  #db;

  constructor(db) {
    this.#db = db;
  }

  /** Entries that the office has not got, in the order in which they were written. */
  async items() {
    const found = await this.#db.getAll("items");
    return found.sort((a, b) => order(a.writtenAt, b.writtenAt) || order(a.id, b.id));
  }

  item(id) {
    return this.#db.get("items", id);
  }

  async put(item) {
    const tx = this.#db.transaction("items", "readwrite", TO_DISK);
    await Promise.all([tx.store.put(item), tx.done]);
  }

  /** Change an entry that is still here; one that has gone meanwhile stays gone. */
  async change(id, changes) {
    const tx = this.#db.transaction("items", "readwrite", TO_DISK);
    const item = await tx.store.get(id);
    if (item !== undefined) await tx.store.put({ ...item, ...changes });
    await tx.done;
  }

  /**
   * The office has it: take it out, and keep a note of it without its files. What was written
   * anew under its id meanwhile stays.
   */
  async acknowledge(id, at, problems, sentAs) {
    const tx = this.#db.transaction(["items", "sent"], "readwrite", TO_DISK);
    const item = await tx.objectStore("items").get(id);
    if (item !== undefined && item.writtenAt === (sentAs ?? item.writtenAt)) {
      const { job, kind, title, writtenAt } = item;
      await tx.objectStore("sent").put({ id, job, kind, title, writtenAt, at, problems });
      await tx.objectStore("items").delete(id);
    }
    await tx.done;
    await this.#forgetOldNotes();
  }

  /** Throw one away, as its writer asked to. */
  async discard(id) {
    const tx = this.#db.transaction("items", "readwrite", TO_DISK);
    await Promise.all([tx.store.delete(id), tx.done]);
  }

  /** Notes of what was sent, the last first. */
  async sent() {
    const found = await this.#db.getAll("sent");
    return found.sort((a, b) => order(b.at, a.at));
  }

  fact(name) {
    return this.#db.get("facts", name);
  }

  async keepFact(name, value) {
    await this.#db.put("facts", value, name);
  }

  close() {
    this.#db.close();
  }

  async #forgetOldNotes() {
    const old = (await this.sent()).slice(NOTES_KEPT).filter(({ problems }) => problems.length === 0);
    await Promise.all(old.map(({ id }) => this.#db.delete("sent", id)));
  }
}

function order(a, b) {
  return a < b ? -1 : Number(a > b);
}
