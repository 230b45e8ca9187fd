// What was entered at the bench: on the disk before anything else happens to it, then sent in the order of the work, as often as it takes. The same entry
// sent twice is one deed for the server. An entry leaves the tablet when the server has kept it, or when a person says so.
import { all, enter, get, put, remove, unenter } from '/static/disk.js';
import { hasBlank, isBench, look } from '/static/pages.js';
import { ask, lose, patience, tell, uuid } from '/static/server.js';

const ENTRY = /^\/orders\/\d+\/(bench\/[a-z]+|holds\/[^/]+\/(readings|end|photographs)|pieces\/[^/]+\/withdraw|sent-back\/[^/]+)$/;
/// An answer within so much, and a photograph within so much a byte more: half a megabit a second.
const IN_TIME = 8000;
const A_BYTE = 1 / 60;

export const isEntry = (path) => ENTRY.test(path);

/// A form of the bench was sent. Where the tablet's disk fails it goes the plain way.
export async function entered(event, url) {
  const plain = event.request.clone();
  let entry, seq;
  try {
    entry = await entryOf(event.request, url);
    seq = await add(entry);
  } catch {
    return fetch(plain);
  }
  const outcome = await outcomeOf(event, seq, entry);
  const on = (path) => Response.redirect(new URL(path, location), 303);
  if (outcome?.to) return on(outcome.to);
  // Whoever typed it sees what is wrong with it in the server's own page; it is there until its correction comes.
  if (outcome?.refused) return refusal(seq, entry, outcome.refused);
  return on(outcome?.signIn ? `/sign-in?${new URLSearchParams({ back: entry.page })}` : entry.from);
}

async function entryOf(request, url) {
  let fields = [...(await request.formData()).entries()];
  const value = (name) => fields.find(([key]) => key === name)?.[1] ?? '';
  const deed = value('deed') || uuid();
  fields = [['deed', deed], ...fields.filter(([name]) => name !== 'by' && name !== 'deed')];
  const facts = (await get('facts', 'pages')) ?? {};
  const person = value('by') || facts.person || '';
  const page = standsOn(request, url);
  // A hold that was begun without the server is known by the deed that began it; a row for a joint says which opening it belongs to.
  const after = [url.pathname.match(/holds\/([0-9a-f-]{36})\//)?.[1], ...fields.filter(([name]) => name === 'after').map(([, said]) => said)].filter(Boolean);
  const entry = { deed, path: url.pathname, page, from: page, person, name: person === facts.person ? facts.name : '', fields, after, entered: Date.now(), contact: await get('facts', 'contact') };
  const begins = url.pathname.match(/\/bench\/(hold|evacuation)$/)?.[1];
  if (begins) await begun(entry, begins === 'hold' ? value('kind') : 'evacuation', value('gauge'), value('at').slice(11, 16) || clock(entry, facts.zone));
  return entry;
}

/// A hold or an evacuation that is begun has a page from now on. Where the gauge was forgotten there is none.
async function begun(entry, kind, gauge, clock) {
  const number = entry.path.split('/')[2];
  if (!(await hasBlank(number, kind, gauge))) return;
  entry.from = `/orders/${number}/holds/${entry.deed}`;
  await put('facts', { key: `begun ${entry.deed}`, kind, gauge, clock, at: entry.entered });
}

/// A clock time in the shop's zone, by the server's clock as far as it is known.
function clock(entry, zone) {
  const at = entry.contact ? entry.contact.server + entry.entered - entry.contact.tablet : entry.entered;
  return new Date(at).toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit', timeZone: zone });
}

/// The page on which its form stands: there one goes on while it waits.
function standsOn(request, url) {
  if (/\/bench\/[a-z]+$/.test(url.pathname)) return url.pathname;
  const hold = url.pathname.match(/^(\/orders\/\d+\/holds\/[^/]+)\//);
  if (hold) return hold[1];
  const referrer = request.referrer && new URL(request.referrer);
  if (referrer && referrer.origin === location.origin && isBench(referrer.pathname)) return referrer.pathname;
  return `/orders/${url.pathname.split('/')[2]}/bench`;
}

/// Writes an entry; one that is there already (a button pressed twice) stays one. One that was refused, or is being corrected, gives way to its correction,
/// which counts from when the first was entered.
async function add(entry) {
  const said = (e) => JSON.stringify(e.fields.map(([name, value]) => [name, typeof value === 'string' ? value : [value.name, value.size]]));
  for (const other of (await all('entries')).filter((e) => e.deed === entry.deed && e.path === entry.path)) {
    if (other.refused || other.held) {
      Object.assign(entry, { entered: other.entered, contact: other.contact });
      await remove('entries', other.seq);
    } else if (said(other) === said(entry)) return other.seq;
  }
  return enter(entry);
}

/// The server's page that says what is wrong. Where it asks whether this is a new entry or a correction, what follows is another deed: this one is done with.
async function refusal(seq, entry, { html, status, policy }) {
  const goesOn = html.includes('data-draft') && !html.includes(entry.deed);
  if (goesOn) await unenter({ seq, deed: entry.deed });
  tell('entries');
  const headers = { 'content-type': 'text/html; charset=utf-8', 'content-security-policy': policy };
  return new Response(html.replace('<body', `<body data-refused="${seq}"`), { status, headers });
}

/// What became of an entry within the time that somebody at a tablet waits for it; the sending goes on behind that.
async function outcomeOf(event, seq, entry) {
  event.waitUntil(send());
  const late = Symbol('late');
  const mine = isHeavy(entry) ? sendHeavy() : sendLight();
  const first = await Promise.race([mine, new Promise((done) => { setTimeout(() => done(late), patience('entry')); })]);
  const outcome = outcomes.get(seq);
  outcomes.delete(seq);
  if (!outcome && first === late) lose();
  if (!outcome) registration.sync?.register('entries').catch(() => {});
  return outcome;
}

const outcomes = new Map();
/// A photograph takes its time; nothing else waits for it.
const isHeavy = (entry) => entry.fields.some(([, value]) => typeof value !== 'string' && value.size > 0);

/// Sends some of what waits, in order, until nothing is left that can go. Pages that correct an entry take the same lock.
function sender(lock, some) {
  let sending = null;
  let again = false;
  return () => {
    again = true;
    sending ??= navigator.locks.request(lock, async () => {
      let went = false;
      try {
        // What arrived may be what another waited for.
        while (again) {
          again = false;
          again = (await sendAll(some)) || again;
          went ||= again;
        }
      } catch {
        // The server is away: they wait.
      }
      sending = null;
      tell('entries');
      if (went) look();
    });
    return sending;
  };
}

const sendLight = sender('entries', (entry) => !isHeavy(entry));
const sendHeavy = sender('photographs', isHeavy);
/// Sends what waits.
export const send = () => sendLight().then(sendHeavy);

/// For the browser's own trying again: fails while something is left that could go.
export async function sendForSure() {
  await send();
  if ((await all('entries')).some((entry) => !entry.refused && !entry.held && !entry.signIn)) throw new Error('not all of it went');
}

/// True where something was kept. Fails where the server does not answer.
async function sendAll(some) {
  const entries = await all('entries');
  // What builds upon an entry waits until that has arrived, also while somebody corrects it; all others go. Where nobody is signed in, all wait.
  const here = new Set(entries.map((entry) => entry.deed));
  let nobody = false;
  let went = false;
  for (const entry of entries.filter(some)) {
    if (entry.refused || entry.held || entry.after.some((deed) => deed !== entry.deed && here.has(deed))) continue;
    const outcome = nobody ? { signIn: 'nobody' } : await sendOne(entry);
    outcomes.set(entry.seq, outcome);
    if (outcome.to) {
      here.delete(entry.deed);
      await arrived(entry, outcome.to);
      went = true;
      continue;
    }
    nobody ||= outcome.signIn === 'nobody';
    await note(entry, outcome);
  }
  return went;
}

async function note(entry, { refused, signIn, trouble }) {
  const before = JSON.stringify([entry.refused, entry.signIn, entry.trouble]);
  Object.assign(entry, { refused, signIn, trouble });
  if (JSON.stringify([refused, signIn, trouble]) !== before) await put('entries', entry);
}

/// It is kept. What was begun without the server has an address of its own from now on.
async function arrived(entry, to) {
  const begun = await get('facts', `begun ${entry.deed}`);
  if (begun) await put('facts', { ...begun, to: new URL(to, location).pathname });
  await remove('entries', entry.seq);
}

/// Sends one: kept (and where it leads), refused (with the server's page), `nobody` or somebody `else` is signed in, or the server is in trouble with it.
async function sendOne(entry) {
  const bytes = entry.fields.reduce((sum, [, value]) => sum + (typeof value === 'string' ? 0 : value.size), 0);
  const body = entry.fields.every(([, value]) => typeof value === 'string') ? new URLSearchParams(entry.fields) : formData(entry.fields);
  const clocks = { person: entry.person, entered: entry.entered, sent: Date.now() };
  if (entry.contact) Object.assign(clocks, { server: entry.contact.server, tablet: entry.contact.tablet });
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), IN_TIME + bytes * A_BYTE);
  try {
    const headers = { 'chillwright-entry': new URLSearchParams(clocks).toString() };
    const response = await ask(entry.path, { method: 'POST', body, headers, redirect: 'manual', signal: stop.signal });
    // Whatever stands between here and the server is no answer of the server.
    if (response.type === 'opaqueredirect' || response.status >= 500 || response.status === 429) return { trouble: true };
    // The server answers entries in JSON; a page says what is wrong with one.
    if (response.headers.get('content-type')?.startsWith('application/json')) return await response.json();
    return { refused: { html: await response.text(), status: response.status, policy: response.headers.get('content-security-policy') ?? '' } };
  } catch (error) {
    // A photograph that takes too long holds up nothing else.
    if (bytes > 0 && error.name === 'AbortError') return { trouble: true };
    throw error;
  } finally {
    clearTimeout(timer);
  }
}

function formData(fields) {
  const form = new FormData();
  fields.forEach(([name, value]) => form.append(name, value));
  return form;
}
