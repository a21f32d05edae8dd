// Photos and recordings that wait: kept in this browser until the server has them, or says that it will not.
import { id } from "./queue.js";
import { told } from "./sending.js";

const STORE = "files";

function opened() {
  return new Promise((done, failed) => {
    const asked = indexedDB.open("firstoff", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE, { keyPath: "id" });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
}

async function inStore(mode, act) {
  const base = await opened();
  try {
    return await new Promise((done, failed) => {
      const asked = act(base.transaction(STORE, mode).objectStore(STORE));
      asked.transaction.oncomplete = () => done(asked.result);
      asked.transaction.onabort = asked.transaction.onerror = () => failed(asked.transaction.error);
    });
  } finally { base.close(); }
}

const kept = () => inStore("readonly", (store) => store.getAll());
const forget = (name) => inStore("readwrite", (store) => store.delete(name));

export class Files {
  constructor(tell) {
    Object.assign(this, { tell, sending: null });
    addEventListener("online", () => this.flush());
    setInterval(() => this.flush(), 3000);
  }

  async add(subject, file) {
    const one = { id: id(), subject, name: file.name, when: new Date().toISOString(), file };
    try {
      await inStore("readwrite", (store) => store.put(one));
    } catch {
      this.tell(`this browser keeps no files, and has no room for ${file.name}: send it from another`, 0);
      return;
    }
    await this.flush();
  }

  flush() {
    this.sending ??= this.round().finally(() => { this.sending = null; });
    return this.sending;
  }

  async round() {
    const waiting = await kept();
    for (const one of waiting) {
      try {
        const way = `/files/${encodeURIComponent(one.subject)}?id=${one.id}&when=${encodeURIComponent(one.when)}`;
        const answer = await told(await fetch(way, { method: "PUT", body: one.file }));
        await forget(one.id);
        this.tell(answer.refused ? `not kept: ${answer.refused}` : `kept: ${one.name}`, 0);
      } catch (error) {
        if (!error.answered) { this.tell(`${one.name} is kept in this tablet until the connection is back`, waiting.length); return; }
        await forget(one.id);
        this.tell(`not kept: ${error.message}`, 0);
      }
    }
    document.documentElement.dataset.files = "0";
  }
}
