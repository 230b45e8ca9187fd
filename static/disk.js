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

/// Done when it is on the disk, all of it or nothing; gives what the last request gave.
async function change(names, deed) {
  const db = await database();
  return new Promise((done, failed) => {
    const tx = db.transaction(names, 'readwrite', { durability: 'strict' });
    const request = deed(...names.map((name) => tx.objectStore(name)));
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

export const put = (name, value) => change([name], (store) => store.put(value));
export const remove = (name, key) => change([name], (store) => store.delete(key));
export const get = (name, key) => ask(name, (store) => store.get(key));
export const all = (name) => ask(name, (store) => store.getAll());

/// Whether what was typed into the form of this deed became an entry here: it waits, or it went. Then it is half typed no more, unless it was refused or is
/// being corrected: then somebody types on.
export async function entered(deed) {
  if ((await all('entries')).some((one) => one.deed === deed && (one.refused || one.held))) return false;
  return (await get('facts', entry(deed))) !== undefined;
}

const entry = (deed) => `entered ${deed}`;

/// A form became an entry; gives its number.
export function enter(value) {
  return change(['facts', 'entries'], (facts, entries) => {
    facts.put({ key: entry(value.deed), at: value.entered });
    return entries.put(value);
  });
}

/// An entry is a form again: the server's page asks about it under another id.
export function unenter({ seq, deed }) {
  return change(['facts', 'entries'], (facts, entries) => {
    facts.delete(entry(deed));
    return entries.delete(seq);
  });
}

/// An entry is being corrected: it stays, and `draft` is what is half typed of it.
export function holdBack(held, draft) {
  return change(['facts', 'entries', 'drafts'], (facts, entries, drafts) => {
    facts.delete(entry(held.deed));
    drafts.put(draft);
    return entries.put(held);
  });
}

/// Facts about entries are good for as long as a draft is; what is older goes.
export async function forgetOld(before) {
  const old = (await all('facts')).filter(({ key, at }) => /^(entered|begun) /.test(key) && at < before);
  await Promise.all(old.map(({ key }) => remove('facts', key)));
}
