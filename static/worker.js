// The service worker: the bench goes on without the network. It keeps its pages (pages.js) and stands before its forms (entries.js).
import { entered, isEntry, send, sendForSure } from '/static/entries.js';
import { forget, look, page } from '/static/pages.js';
import { ask, isLost, patience } from '/static/server.js';

// The server writes these in: another version of any file is another worker.
const VERSION = '__VERSION__';
const FILES = '__FILES__'.split(' ');
const files = `files-${VERSION}`;

addEventListener('install', (event) => {
  // Past the browser's own cache, so that all are of this version.
  const all = FILES.map((name) => new Request(name, { cache: 'reload' }));
  event.waitUntil(caches.open(files).then((cache) => cache.addAll(all)).then(() => skipWaiting()));
});

addEventListener('activate', (event) => {
  event.waitUntil((async () => {
    const old = (await caches.keys()).filter((name) => name.startsWith('files-') && name !== files);
    await Promise.all(old.map((name) => caches.delete(name)));
    await clients.claim();
  })());
});

addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== location.origin) return;
  if (request.method === 'POST' && request.mode === 'navigate') {
    if (isEntry(url.pathname)) event.respondWith(entered(event, url));
    else if (url.pathname === '/sign-out' || url.pathname === '/sign-in') event.respondWith(another(event));
  } else if (request.method === 'GET' && request.mode === 'navigate') {
    event.respondWith(page(event, url));
  } else if (request.method === 'GET' && url.pathname.startsWith('/static/')) {
    event.respondWith(file(request, url));
  }
});

addEventListener('message', (event) => {
  if (event.data === 'look') event.waitUntil(look());
  if (event.data === 'send') event.waitUntil(send());
});
// Where the browser has it, entries also go when no page is open.
addEventListener('sync', (event) => event.waitUntil(sendForSure()));

/// Somebody leaves the tablet or comes to it: the pages are that person's from then on.
async function another(event) {
  const response = await fetch(event.request);
  if (response.type === 'opaqueredirect') await forget().catch(() => {});
  return response;
}

/// A file of this version from here where the server does not answer, at once where it did not a moment ago.
async function file(request, url) {
  const cached = await caches.match(url.pathname, { cacheName: files });
  if (cached && isLost()) return cached;
  try {
    return await ask(request, undefined, cached ? patience('page') : undefined);
  } catch (error) {
    if (cached) return cached;
    throw error;
  }
}
