// The pages of the bench as the server last gave them: kept for the one person who reads them, for a day after the server was last heard.
import { forgetOld, get, put, remove } from '/static/disk.js';
import { DAY, ask, patience, tell, uuid } from '/static/server.js';

const BENCH = /^\/orders\/\d+\/(bench(\/[a-z]+)?|holds\/[^/]+)$/;
const AWAY = '/away';
const PAGES = 'pages';
const A_WHILE = 10e3;

export const isBench = (path) => BENCH.test(path);

/// A page: the server's, else the one that is kept, else the one that says what goes on.
export async function page(event, url) {
  const bench = isBench(url.pathname);
  try {
    const response = await ask(event.request, undefined, bench ? patience('page') : undefined);
    if (bench && response.ok && url.search === '') event.waitUntil(keep(url.pathname, response.clone()).catch(() => {}));
    return response;
  } catch {
    return (bench && (await kept(url).catch(() => null))) || (await shown(AWAY).catch(() => null)) || Response.error();
  }
}

async function keep(path, response) {
  const { person } = (await get('facts', 'pages')) ?? {};
  // A page is its reader's own; before it is known who that is, nothing is kept.
  const html = await response.text();
  if (person && html.includes(`data-person="${person}"`)) await write(path, html, response.headers.get('content-security-policy'));
}

async function write(path, html, policy) {
  const headers = { 'content-type': 'text/html; charset=utf-8', 'content-security-policy': policy ?? "default-src 'none'" };
  await (await caches.open(PAGES)).put(path, new Response(html, { headers }));
}

/// A page as it was kept, marked as such. It may come many times: each time its forms are deeds of their own.
async function shown(path, change = (html) => html) {
  const heard = await get('facts', 'heard');
  const found = heard && Math.abs(Date.now() - heard.tablet) < DAY && (await caches.match(path, { cacheName: PAGES, ignoreSearch: true }));
  if (!found) return null;
  const fresh = (html) => html.replace(/(name="deed" value=")[^"]*/g, (_, name) => name + uuid());
  return new Response(fresh(change(await found.text())).replace('<body', '<body data-away'), { headers: found.headers });
}

/// The page of the bench that is kept here. What a correction or a photograph begins with, the server alone has.
async function kept(url) {
  if ([...url.searchParams.keys()].some((key) => key !== 'kept')) return null;
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

/// Whether a hold of this kind with this gauge can be gone on with without the server.
export const hasBlank = async (number, kind, gauge) => Boolean(await caches.match(blank(number, kind, gauge), { cacheName: PAGES }));

// ---- who reads them ----

/// Counts whoever reads the pages: what was fetched for the one before is not written any more.
let reader = 0;

/// Somebody else is at the tablet, or nobody: the pages are not shown any more. What waits to be sent stays.
export async function forget() {
  reader += 1;
  looked = 0;
  await caches.delete(PAGES);
  await remove('facts', 'pages');
}

// ---- keeping them ----

let looking = null;
let looked = 0;
/// Asks which orders are in the shop and fetches what has changed of their benches; one at a time, at most every ten seconds, and once more after the last call.
export function look() {
  looking ??= (async () => {
    const wait = looked + A_WHILE - Date.now();
    await new Promise((done) => { setTimeout(done, wait <= A_WHILE ? wait : 0); });
    looking = null;
    await navigator.locks.request('pages', refresh).then(() => { looked = Date.now(); }, () => {});
  })();
  return looking;
}

async function refresh() {
  const mine = reader;
  const answer = await ask('/away/orders', { redirect: 'manual' }, patience('page'));
  // Nobody is signed in, or somebody without a bench.
  if (answer.type === 'opaqueredirect' || answer.status === 403) return mine === reader ? forget() : undefined;
  if (!answer.ok) return undefined;
  const list = await answer.json();
  let facts = (await get('facts', 'pages')) ?? { key: 'pages', orders: {} };
  if (facts.person !== list.person) {
    await caches.delete(PAGES);
    facts = { key: 'pages', orders: {} };
  }
  const note = (more) => (mine === reader ? put('facts', Object.assign(facts, more)) : Promise.reject(new Error('somebody else is at the tablet')));
  await note({ person: list.person, name: list.name, zone: list.zone, titles: list.titles });
  for (const [path, html] of Object.entries(list.pages)) await write(path, html, answer.headers.get('content-security-policy'));
  for (const { number, stamp } of list.orders.filter((order) => facts.orders[order.number] !== order.stamp)) {
    const bundle = await ask(`/away/orders/${number}`, { redirect: 'manual' }, 60e3);
    if (!bundle.ok) continue;
    const { pages, blanks } = await bundle.json();
    const policy = bundle.headers.get('content-security-policy');
    await note();
    for (const [path, html] of Object.entries(pages)) await write(path, html, policy);
    for (const { kind, gauge, html } of blanks) await write(blank(number, kind, gauge), html, policy);
    facts.orders[number] = stamp;
    await note();
  }
  await forgetOld(Date.now() - 14 * DAY);
  await leave(facts, new Set(list.orders.map((order) => `${order.number}`)));
  await note();
  tell('ready');
  return undefined;
}

/// Orders that are not in the shop any more leave the tablet.
async function leave(facts, here) {
  const gone = Object.keys(facts.orders).filter((number) => !here.has(number));
  if (gone.length === 0) return;
  const cache = await caches.open(PAGES);
  for (const { url } of await cache.keys()) {
    if (gone.includes(new URL(url).pathname.split('/')[2])) await cache.delete(url);
  }
  gone.forEach((number) => { delete facts.orders[number]; });
}
