// This browser's own database, for the pages and the worker: what is half typed, what was entered and waits for the server, and what the worker has to
// remember. What it says is written is on the disk.

/// Stores and their keys; entries are numbered in the order in which they were made.
const STORES = { drafts: { keyPath: 'key' }, entries: { keyPath: 'seq', autoIncrement: true }, facts: { keyPath: 'key' } };
const VERSION = 2;

let opened = null;
function database() {
  opened ??= new Promise((done, failed) => {
    const request = indexedDB.open('chillwright', VERSION);
    request.onupgradeneeded = () => {
      for (const [name, options] of Object.entries(STORES)) {
        if (!request.result.objectStoreNames.contains(name)) request.result.createObjectStore(name, options);
      }
    };
    request.onsuccess = () => {
      const db = request.result;
      // Another page of ours may want to make it anew.
      db.onversionchange = () => { db.close(); opened = null; };
      db.onclose = () => { opened = null; };
      done(db);
    };
    request.onblocked = () => failed(new Error('another page has it open'));
    request.onerror = () => failed(request.error);
  });
  // The next one tries again.
  opened.catch(() => { opened = null; });
  return opened;
}

/// Done when it is on the disk; gives what the request gave.
async function change(name, deed) {
  const db = await database();
  return new Promise((done, failed) => {
    const tx = db.transaction(name, 'readwrite', { durability: 'strict' });
    const request = deed(tx.objectStore(name));
    // Not left to the page, which may be on its way out.
    tx.commit?.();
    tx.oncomplete = () => done(request.result);
    tx.onabort = () => failed(tx.error);
    tx.onerror = () => failed(tx.error);
  });
}

async function ask(name, question) {
  const db = await database();
  return new Promise((done, failed) => {
    const request = question(db.transaction(name).objectStore(name));
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });
}

export const put = (name, value) => change(name, (store) => store.put(value));
export const remove = (name, key) => change(name, (store) => store.delete(key));
export const get = (name, key) => ask(name, (store) => store.get(key));
export const all = (name) => ask(name, (store) => store.getAll());

/// Whether an entry with this deed waits at this tablet.
export async function waits(deed) {
  return (await all('entries')).some((entry) => entry.deed === deed);
}
