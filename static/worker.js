// The service worker: the bench goes on without the network. Pages of the bench are kept here as the server last gave them; what is entered is written
// to the disk first and then sent, in the order of the work, as often as it takes. The same entry sent twice is one deed for the server.
import { all, enter, forgetOld, get, put, remove, unenter } from '/static/disk.js';

// The server writes these in: another version of any file is another worker.
const VERSION = '__VERSION__';
const FILES = '__FILES__'.split(' ');

const ENTRY = /^\/orders\/\d+\/(bench\/[a-z]+|holds\/[^/]+\/(readings|end|photographs)|pieces\/[^/]+\/withdraw)$/;
const BENCH = /^\/orders\/\d+\/(bench(\/[a-z]+)?|holds\/[^/]+)$/;
const AWAY = '/away';
const DAY = 24 * 3600e3;
// How long one waits before an answer: for a page that is kept here too, for an entry. Less where the server did not answer a moment ago.
const PATIENCE = { page: 5000, entry: 8000, lost: 1500 };
const A_WHILE = 10e3;

const files = `files-${VERSION}`;
const pages = 'pages';

addEventListener('install', (event) => {
  event.waitUntil(caches.open(files).then((cache) => cache.addAll(FILES)).then(() => skipWaiting()));
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
    if (ENTRY.test(url.pathname)) event.respondWith(entered(event, url));
    // Whoever leaves takes the pages along; what waits stays.
    else if (url.pathname === '/sign-out') event.waitUntil(forget());
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
addEventListener('sync', (event) => event.waitUntil(send()));

const channel = new BroadcastChannel('chillwright');
const tell = (what) => channel.postMessage(what);

// ---- the network ----

let lost = 0;
const patience = (usual) => (Date.now() - lost < A_WHILE ? PATIENCE.lost : usual);

/// Asks the server; fails where no answer comes in time.
async function ask(request, options, limit) {
  let timer;
  const late = new Promise((_, failed) => { timer = setTimeout(() => failed(new Error('no answer')), limit ?? 2 ** 31 - 1); });
  try {
    const response = await Promise.race([fetch(request, options), late]);
    lost = 0;
    await heard(response);
    return response;
  } catch (error) {
    lost = Date.now();
    tell('lost');
    throw error;
  } finally {
    clearTimeout(timer);
  }
}

/// The server's clock beside the tablet's own: what an entry's time is counted from while the network is away.
let noted = 0;
async function heard(response) {
  const server = Number(response.headers.get('chillwright-now'));
  const now = Date.now();
  if (!server || Math.abs(now - noted) < 1000) return;
  noted = now;
  await put('facts', { key: 'contact', server, tablet: now }).catch(() => {});
}

// ---- files ----

/// Those of this version from here; another query or an unknown one from the server.
async function file(request, url) {
  const cached = await caches.match(url.pathname, { cacheName: files });
  try {
    return await ask(request, undefined, cached ? patience(PATIENCE.page) : undefined);
  } catch (error) {
    if (cached) return cached;
    throw error;
  }
}

// ---- pages ----

async function page(event, url) {
  const bench = BENCH.test(url.pathname);
  try {
    const response = await ask(event.request, undefined, bench ? patience(PATIENCE.page) : undefined);
    if (bench && response.ok && url.search === '') event.waitUntil(keepPage(url.pathname, response.clone()));
    return response;
  } catch {
    return (bench && (await kept(url))) || (await shown(AWAY)) || Response.error();
  }
}

async function keepPage(path, response) {
  const { person } = (await get('facts', 'pages')) ?? {};
  // A page is its reader's own; before it is known who that is, nothing is kept.
  const html = await response.text();
  if (person && html.includes(`data-person="${person}"`)) await write(path, html, response.headers.get('content-security-policy'));
}

async function write(path, html, policy) {
  const headers = { 'content-type': 'text/html; charset=utf-8', 'content-security-policy': policy ?? "default-src 'none'" };
  await (await caches.open(pages)).put(path, new Response(html, { headers }));
}

/// A page as it was kept, marked as such; none where the server has not been heard for a day.
async function shown(path, change = (html) => html) {
  const facts = await get('facts', 'pages');
  const found = facts && Math.abs(Date.now() - facts.heard) < DAY && (await caches.match(path, { cacheName: pages, ignoreSearch: true }));
  if (!found) return null;
  const html = change(await found.text()).replace('<body', '<body data-away');
  return new Response(html, { headers: found.headers });
}

/// The page of the bench that is kept here. A correction begins with what the server has, so it waits for that.
async function kept(url) {
  if (url.searchParams.has('piece')) return null;
  const direct = await shown(url.pathname);
  if (direct) return direct;
  const [, number, deed] = url.pathname.match(/^\/orders\/(\d+)\/holds\/([0-9a-f-]{36})$/) ?? [];
  const begun = deed && (await get('facts', `begun ${deed}`));
  if (!begun) return null;
  return (begun.to && (await shown(begun.to)))
    || shown(blank(number, begun.kind, begun.gauge), (html) => html.replaceAll('__deed__', deed).replaceAll('__begun__', begun.clock));
}

/// Where the page of a hold is kept that somebody may begin without the server.
const blank = (number, kind, gauge) => `/orders/${number}/holds/new/${encodeURIComponent(kind)}/${encodeURIComponent(gauge)}`;

/// Nobody is signed in any more: the pages are not shown to whoever comes next. What waits to be sent stays.
async function forget() {
  await caches.delete(pages);
  await remove('facts', 'pages').catch(() => {});
}

// ---- keeping the pages ----

let looking = null;
let looked = 0;
/// Asks which orders are in the shop and fetches what has changed of their benches; at most every ten seconds, but always once more after the last call.
function look() {
  looking ??= (async () => {
    const wait = looked + A_WHILE - Date.now();
    await new Promise((done) => { setTimeout(done, wait <= A_WHILE ? wait : 0); });
    looking = null;
    await refresh().then(() => { looked = Date.now(); }, () => {});
  })();
  return looking;
}

async function refresh() {
  const answer = await ask('/away/orders', { redirect: 'manual' }, patience(PATIENCE.page));
  if (!answer.ok) return;
  const list = await answer.json();
  let facts = (await get('facts', 'pages')) ?? { key: 'pages', orders: {} };
  if (facts.person !== list.person) {
    await caches.delete(pages);
    facts = { key: 'pages', orders: {} };
  }
  Object.assign(facts, { person: list.person, name: list.name, zone: list.zone, titles: list.titles, heard: Date.now() });
  await put('facts', facts);
  for (const [path, html] of Object.entries(list.pages)) await write(path, html, answer.headers.get('content-security-policy'));
  for (const { number, stamp } of list.orders) {
    if (facts.orders[number] === stamp) continue;
    const bundle = await ask(`/away/orders/${number}`, { redirect: 'manual' });
    if (!bundle.ok) continue;
    const policy = bundle.headers.get('content-security-policy');
    const { pages: its, blanks } = await bundle.json();
    for (const [path, html] of Object.entries(its)) await write(path, html, policy);
    for (const { kind, gauge, html } of blanks) await write(blank(number, kind, gauge), html, policy);
    facts.orders[number] = stamp;
    await put('facts', facts);
  }
  await forgetOld(Date.now() - 14 * DAY);
  await leave(facts, new Set(list.orders.map((order) => `${order.number}`)));
  tell('ready');
}

/// Orders that are not in the shop any more leave the tablet.
async function leave(facts, here) {
  const gone = Object.keys(facts.orders).filter((number) => !here.has(number));
  if (gone.length === 0) return;
  const cache = await caches.open(pages);
  for (const { url } of await cache.keys()) {
    if (gone.includes(new URL(url).pathname.split('/')[2])) await cache.delete(url);
  }
  gone.forEach((number) => { delete facts.orders[number]; });
  await put('facts', facts);
}

// ---- entries ----

/// A form of the bench was sent. It is on the disk before anything else happens to it.
async function entered(event, url) {
  const fields = [...(await event.request.formData()).entries()];
  const value = (name) => fields.find(([key]) => key === name)?.[1] ?? '';
  const facts = (await get('facts', 'pages')) ?? {};
  const entry = {
    deed: value('deed'),
    path: url.pathname,
    page: cameFrom(event.request, url),
    from: cameFrom(event.request, url),
    person: value('by') || facts.person || '',
    name: value('by') === facts.person ? facts.name : '',
    fields: fields.filter(([name]) => name !== 'by'),
    after: await stillHere([url.pathname.match(/holds\/([0-9a-f-]{36})\//)?.[1], ...fields.filter(([name]) => name === 'after').map(([, deed]) => deed)]),
    entered: Date.now(),
    contact: await get('facts', 'contact'),
  };
  const begins = url.pathname.match(/\/bench\/(hold|evacuation)$/)?.[1];
  if (begins) await begun(entry, begins === 'hold' ? value('kind') : 'evacuation', value('gauge'), value('at').slice(11, 16) || clock(entry, facts.zone));
  const seq = await add(entry);
  const outcome = await outcomeOf(event, seq);
  if (outcome?.to) return Response.redirect(new URL(outcome.to, location), 303);
  if (outcome?.refused) {
    // Whoever typed it sees what is wrong with it, in the server's own page: it waits for nothing any more.
    await unenter({ seq, deed: entry.deed });
    tell('entries');
    const { html, status, policy } = outcome.refused;
    return new Response(html, { status, headers: { 'content-type': 'text/html; charset=utf-8', 'content-security-policy': policy } });
  }
  if (outcome?.signIn) return Response.redirect(new URL(`/sign-in?${new URLSearchParams({ back: entry.page })}`, location), 303);
  return Response.redirect(new URL(entry.from, location), 303);
}

/// Of the deeds that an entry builds upon, those that have not arrived yet.
async function stillHere(deeds) {
  const here = new Set((await all('entries')).map((entry) => entry.deed));
  return [...new Set(deeds)].filter((deed) => here.has(deed));
}

/// A hold or an evacuation that is begun has a page from now on, by the deed that began it. Where the gauge was forgotten there is none.
async function begun(entry, kind, gauge, clock) {
  const number = entry.path.split('/')[2];
  if (!(await caches.match(blank(number, kind, gauge), { cacheName: pages }))) return;
  entry.from = `/orders/${number}/holds/${entry.deed}`;
  await put('facts', { key: `begun ${entry.deed}`, kind, gauge, clock, at: entry.entered });
}

/// The page that it stood on: there one goes on while it waits.
function cameFrom(request, url) {
  const [, number, task] = url.pathname.match(/^\/orders\/(\d+)\/bench\/([a-z]+)$/) ?? [];
  if (task) return url.pathname;
  const hold = url.pathname.match(/^(\/orders\/\d+\/holds\/[^/]+)\//);
  if (hold) return hold[1];
  const referrer = request.referrer && new URL(request.referrer);
  if (referrer && referrer.origin === location.origin && BENCH.test(referrer.pathname)) return referrer.pathname;
  return `/orders/${number ?? url.pathname.split('/')[2]}/bench`;
}

/// Writes an entry; one that is there already (a button pressed twice) stays one, one that was refused gives way to its correction.
async function add(entry) {
  const said = (e) => JSON.stringify(e.fields.map(([name, value]) => [name, typeof value === 'string' ? value : [value.name, value.size]]));
  for (const other of (await all('entries')).filter((e) => e.deed === entry.deed && e.path === entry.path)) {
    if (other.refused) await remove('entries', other.seq);
    else if (said(other) === said(entry)) return other.seq;
  }
  return enter(entry);
}

/// A clock time in the shop's zone, by the server's clock as far as it is known.
function clock(entry, zone) {
  const at = entry.contact ? entry.contact.server + entry.entered - entry.contact.tablet : entry.entered;
  return new Date(at).toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit', timeZone: zone });
}

/// What became of an entry within the time that somebody at a tablet waits for it; the sending goes on behind that.
async function outcomeOf(event, seq) {
  const limit = patience(PATIENCE.entry);
  const sending = send();
  event.waitUntil(sending);
  const late = new Promise((done) => { setTimeout(done, limit); });
  await Promise.race([sending, late]);
  const outcome = outcomes.get(seq);
  if (outcome) outcomes.delete(seq);
  else registration.sync?.register('entries').catch(() => {});
  return outcome;
}

const outcomes = new Map();
let sending = null;
let again = false;
/// Sends what waits, in order, until nothing is left that can go. Pages that correct an entry take the same lock.
function send() {
  again = true;
  sending ??= navigator.locks.request('entries', async () => {
    let went = false;
    try {
      while (again) {
        again = false;
        went = (await sendAll()) || went;
      }
    } catch {
      // The server is away: they wait.
    }
    sending = null;
    tell('entries');
    if (went) look();
  });
  return sending;
}

/// True where something was kept. Fails where the server does not answer.
async function sendAll() {
  const entries = await all('entries');
  let nobody = false;
  let went = false;
  for (const entry of entries) {
    // What builds upon an entry waits until that is kept, also while somebody corrects it; all others go. Where nobody is signed in, all wait.
    const outcome = entry.refused || entry.after.length > 0 || nobody ? null : await sendOne(entry);
    if (outcome) outcomes.set(entry.seq, outcome);
    if (outcome?.to) {
      went = true;
      await remove('entries', entry.seq);
      await arrived(entry, outcome.to, entries);
      continue;
    }
    nobody ||= outcome?.signIn === 'nobody';
    await note(entry, { refused: outcome?.refused ?? entry.refused, signIn: nobody ? 'nobody' : outcome?.signIn });
  }
  return went;
}

async function note(entry, news) {
  if (JSON.stringify([entry.refused, entry.signIn]) !== JSON.stringify([news.refused, news.signIn])) await put('entries', Object.assign(entry, news));
}

/// What was begun without the server has an address of its own from now on, and what waited for it can go.
async function arrived(entry, to, entries) {
  const begun = await get('facts', `begun ${entry.deed}`);
  if (begun) await put('facts', { ...begun, to: new URL(to, location).pathname });
  for (const other of entries.filter((e) => e.after.includes(entry.deed))) {
    other.after = other.after.filter((deed) => deed !== entry.deed);
    await put('entries', other);
    again = true;
  }
}

/// Sends one: kept (and where it leads), refused (with the server's page), or `nobody` or somebody `else` is signed in.
async function sendOne(entry) {
  const body = entry.fields.every(([, value]) => typeof value === 'string') ? new URLSearchParams(entry.fields) : formData(entry.fields);
  const clocks = { person: entry.person, entered: entry.entered, sent: Date.now() };
  if (entry.contact) Object.assign(clocks, { server: entry.contact.server, tablet: entry.contact.tablet });
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), PATIENCE.entry);
  try {
    const headers = { 'chillwright-entry': new URLSearchParams(clocks).toString() };
    const response = await ask(entry.path, { method: 'POST', body, headers, redirect: 'manual', signal: stop.signal });
    if (response.status >= 500 || response.status === 429) throw new Error('the server is in trouble');
    // The server answers entries in JSON; a page says what is wrong with one.
    if (response.headers.get('content-type')?.startsWith('application/json')) return await response.json();
    return { refused: { html: await response.text(), status: response.status, policy: response.headers.get('content-security-policy') ?? '' } };
  } finally {
    clearTimeout(timer);
  }
}

function formData(fields) {
  const form = new FormData();
  fields.forEach(([name, value]) => form.append(name, value));
  return form;
}
