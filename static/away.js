// What the bench says of itself while the network comes and goes: what is kept and what waits, the readings that wait on their curve, the server's last
// answer with its time. The worker keeps and sends (worker.js); without one nothing of this shows.
import { curve } from './curve.js';
import { all, enter, get, holdBack, remove } from './disk.js';
import { draftKey } from './forms.js';
import { refresh } from './live.js';

const { body } = document;
const { person } = body.dataset;
const line = document.getElementById('here');
const list = document.getElementById('waiting');
// An entry stands in a line of its own when it has waited for so long.
const A_MINUTE = 60e3;
const TRY_AGAIN = 5e3;
const AN_HOUR = 3600e3;
const A_SECOND_TAP = 700;

/// What the page itself shows again, filled, with what is wrong: it needs no line of its own here.
const shownHere = Number(body.dataset.refused);
let lost = 'away' in body.dataset;
let lookedAt = Date.now();
if (person && isSecureContext && 'serviceWorker' in navigator && 'locks' in navigator) begin().catch(() => {});

async function begin() {
  await navigator.serviceWorker.register('/worker.js', { type: 'module', updateViaCache: 'none' });
  // The browser may not clear away what waits.
  navigator.storage?.persist?.().catch(() => {});
  const channel = new BroadcastChannel('chillwright');
  channel.addEventListener('message', ({ data }) => heard(data));
  document.addEventListener('live', () => {
    // What the server gave just now is no kept page any more.
    delete body.dataset.away;
    tell('look');
    show();
  });
  setInterval(async () => {
    if (lost || Date.now() - lookedAt > AN_HOUR) tell('look');
    if (lost || (await all('entries')).length > 0) tell('send');
    show();
  }, TRY_AGAIN);
  addEventListener('online', () => tell('send'));
  // A row by place asks for its joint's opening only where something is said of it.
  document.addEventListener('submit', ({ target }) => target.querySelectorAll('[data-place]').forEach((row) => {
    row.querySelector('[name=after]').disabled = !row.querySelector(':checked');
  }), true);
  tell('send');
  tell('look');
  await show();
}

/// To whichever worker serves now: a newer one may have come since this page was made.
async function tell(what) {
  if (what === 'look') lookedAt = Date.now();
  (await navigator.serviceWorker.ready).active.postMessage(what);
}

function heard(what) {
  if (what === 'lost') lost = true;
  if (what === 'ready') lost = false;
  if ('away' in body.dataset && what !== 'lost') refresh();
  show();
}

// ---- the one line, and what has waited for long ----

let showing = Promise.resolve();
/// One after the other, so that an older state never overwrites a newer one.
function show() {
  showing = showing.then(showAll).catch(() => {});
  return showing;
}

async function showAll() {
  if (!line) return;
  const [found, facts, heard] = await Promise.all([all('entries'), get('facts', 'pages'), get('facts', 'heard')]);
  const zone = facts?.zone;
  const entries = found.filter((entry) => entry.seq !== shownHere);
  const waiting = entries.filter((entry) => !entry.refused && !entry.held);
  says(line, sentence(waiting, entries, facts, heard, zone));
  line.hidden = line.textContent === '';
  if (waiting.some((entry) => entry.signIn) && !line.querySelector('a')) line.append(' ', link(`/sign-in?${new URLSearchParams({ back: location.pathname })}`, 'Sign in'));
  const long = entries.filter((entry) => entry.refused || entry.held || Date.now() - entry.entered > A_MINUTE);
  const told = JSON.stringify(long.map((entry) => [entry.seq, entry.refused?.html, entry.held, entry.signIn, entry.trouble, first(entry, entries)?.seq]));
  if (list.dataset.told !== told) {
    list.dataset.told = told;
    list.replaceChildren(...long.map((entry) => item(entry, entries, facts, zone)));
    list.hidden = long.length === 0;
  }
  asOf(waiting, zone);
  hold(waiting, zone);
  joints(waiting);
}

/// Only what has changed is read out.
function says(element, text) {
  if (element.dataset.says === text) return;
  element.dataset.says = text;
  element.textContent = text;
}

/// What an entry builds upon and that has not arrived.
const first = (entry, entries) => entries.find((other) => other.seq !== entry.seq && entry.after.includes(other.deed));

function sentence(waiting, entries, facts, heard, zone) {
  const last = heard ? `; the server last answered at ${clock(heard.server, zone)}` : '';
  if (waiting.length > 0) {
    const what = waiting.length === 1 ? 'One entry is waiting' : `${waiting.length} entries are waiting`;
    const absent = [...new Set(waiting.filter((entry) => entry.signIn).map((entry) => entry.name || 'whoever made it'))];
    if (absent.length > 0) return `${what} on this tablet for the code of ${absent.join(' and ')}.`;
    if (lost) return `${what} on this tablet${last}.`;
    return waiting.every((entry) => first(entry, entries)) ? `${what} on this tablet for what it belongs to.` : `${what} on this tablet, being sent.`;
  }
  if (lost) return `The server does not answer${last}. What you enter is stored on this tablet.`;
  const number = location.pathname.split('/')[2];
  if (entries.length > 0) return `${entries.length === 1 ? 'One entry is' : `${entries.length} entries are`} not saved yet.`;
  return facts?.orders?.[number] ? 'Everything entered here is saved. This page also works without the network.' : '';
}

function clock(at, zone) {
  return new Date(at).toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit', timeZone: zone });
}

const value = (entry, name) => entry.fields.find(([key, said]) => key === name && said !== '')?.[1] ?? '';

/// When it was entered, by the server's clock as far as the tablet knew it.
const enteredAt = (entry) => (entry.contact ? entry.contact.server + entry.entered - entry.contact.tablet : entry.entered);

function title(entry, facts, zone) {
  const [, task] = entry.path.match(/\/bench\/([a-z]+)$/) ?? [];
  const number = value(entry, 'tile') || value(entry, 'reading');
  const what = (task && (facts?.titles?.[task] ?? task)) || (/readings$/.test(entry.path) ? `Reading ${number}` : /end$/.test(entry.path) ? 'End' : /photographs$/.test(entry.path) ? 'Photograph' : /sent-back/.test(entry.path) ? 'Answer' : 'Withdrawal');
  return `${what}, order ${entry.path.split('/')[2]}, ${clock(enteredAt(entry), zone)}`;
}

function item(entry, entries, facts, zone) {
  const li = document.createElement('li');
  const what = document.createElement('b');
  what.textContent = title(entry, facts, zone);
  const whose = entry.person === person ? '' : ` by ${entry.name || 'somebody else'}`;
  const other = first(entry, entries);
  const state = entry.refused ? `Not saved: ${reason(entry.refused.html)}`
    : entry.held ? 'Being corrected; not sent.'
    : other ? `Waiting until “${title(other, facts, zone)}” is saved.`
      : entry.trouble ? 'The server could not save it; it will be tried again.'
      : entry.signIn ? `Waiting for the code of ${entry.name || 'whoever made it'}.` : 'Waiting for the server.';
  li.append(what, `${whose}. ${state}`);
  const also = document.createElement('div');
  also.className = 'also';
  const mine = entry.person === person;
  if (mine && entry.refused) also.append(button('Open it', () => sendAgain(entry)));
  if (mine && entry.held) also.append(button('Send unchanged', () => release(entry)));
  if (mine && !entry.held && canBeTyped(entry)) also.append(button('Correct', () => correct(entry)));
  // What somebody left behind who does not come back must not stand there for ever.
  if ((mine && entry.refused) || Date.now() - entry.entered > 24 * AN_HOUR) also.append(twice('Discard', 'Discard permanently', () => discard(entry)));
  li.append(also);
  return li;
}

/// What the server's page says is wrong.
function reason(html) {
  const page = new DOMParser().parseFromString(html, 'text/html');
  const texts = (selector) => [...page.querySelectorAll(selector)].map((e) => e.textContent.trim()).filter(Boolean);
  const faults = [...texts('.faults p:not(.look-below)'), ...texts('.err')];
  return (faults.length > 0 ? faults : texts('main p')).slice(0, 3).join(' ') || 'the server gave no reason.';
}

function link(href, text) {
  const a = document.createElement('a');
  a.href = href;
  a.textContent = text;
  return a;
}

function button(text, pressed) {
  const made = document.createElement('button');
  made.type = 'button';
  made.className = 'link';
  made.textContent = text;
  made.addEventListener('click', pressed);
  return made;
}

/// Nothing goes for good by one tap.
function twice(first, second, pressed) {
  let at = 0;
  const made = button(first, () => {
    if (at && Date.now() - at > A_SECOND_TAP) pressed();
    at ||= Date.now();
    made.textContent = second;
  });
  return made;
}

/// Under the lock of the sending: what is on its way is not touched.
const alone = (deed) => navigator.locks.request('entries', deed);

/// A photograph is no text, a withdrawal has no form, and a correction begins with what the server has.
const canBeTyped = (entry) => !/\/withdraw$|\/sent-back\//.test(entry.path) && entry.fields.every(([, said]) => typeof said === 'string') && !(lost && value(entry, 'piece'));

/// What was entered stands half typed in its form again. The entry itself stays, and is not sent, until its correction takes its place.
async function correct(entry) {
  await alone(async () => {
    if (!(await get('entries', entry.seq))) return;
    const values = {};
    entry.fields.filter(([name, said]) => !['deed', 'piece', 'seen'].includes(name) && typeof said === 'string').forEach(([name, said]) => (values[name] ??= []).push(said));
    const draft = { key: draftKey(person, entry.path, (name) => value(entry, name)), at: entry.entered, deed: entry.deed, units: value(entry, 'units'), values };
    await holdBack({ ...entry, held: true, refused: undefined }, draft);
  });
  const piece = value(entry, 'piece');
  location.assign(entry.page + (piece ? `?${new URLSearchParams({ piece })}` : ''));
}

async function release(entry) {
  await alone(() => enter({ ...entry, held: undefined }));
  tell('send');
  show();
}

/// Sent once more as a form: the server's own page says, beside the fields, what is wrong.
function sendAgain(entry) {
  const form = document.createElement('form');
  form.method = 'post';
  form.action = entry.path;
  form.hidden = true;
  for (const [name, said] of [...entry.fields, ['by', entry.person]]) {
    const field = document.createElement('input');
    field.name = name;
    if (typeof said === 'string') {
      field.type = 'hidden';
      field.value = said;
    } else {
      form.enctype = 'multipart/form-data';
      field.type = 'file';
      const files = new DataTransfer();
      files.items.add(said);
      field.files = files.files;
    }
    form.append(field);
  }
  body.append(form);
  form.submit();
}

/// What belonged to it is sent then: the server says what is missing.
async function discard(entry) {
  await alone(() => remove('entries', entry.seq));
  await remove('drafts', draftKey(entry.person, entry.path, (name) => value(entry, name)));
  show();
}

// ---- what the page shows of what waits ----

/// The answer is the server's last one, and says so where it cannot know of what was entered.
function asOf(waiting, zone) {
  const answer = document.querySelector('.answer');
  if (!answer) return;
  const order = location.pathname.split('/')[2];
  const mine = waiting.some((entry) => entry.path.split('/')[2] === order);
  let note = document.getElementById('as-of');
  if (!lost && !mine) { note?.remove(); return; }
  if (!note) {
    note = document.createElement('p');
    note.id = 'as-of';
    note.className = 's';
    answer.before(note);
  }
  const said = location.pathname.includes('/holds/') && !gauge()?.kept.length && 'away' in body.dataset ? 'The server has not seen this yet' : `The server’s answer of ${clock(Number(body.dataset.now), zone)}`;
  const without = lost ? 'Waiting entries are not included; the result comes when the server is back.' : 'Waiting entries are not included yet.';
  says(note, mine ? `${said}. ${without}` : `${said}.`);
}

const gauge = () => JSON.parse(document.getElementById('gauge')?.textContent ?? 'null');

/// On the page of a hold: the readings that wait on the curve, and the tiles around the last of them.
function hold(waiting, zone) {
  const facts = gauge();
  const form = document.getElementById('read');
  if (!facts || !form) return;
  const path = new URL(form.action).pathname;
  const readings = waiting.filter((entry) => entry.path === path).map((entry) => [readAt(entry), Number((value(entry, 'tile') || value(entry, 'reading')).replace(',', '.'))]);
  const fresh = readings.filter(([, number]) => Number.isFinite(number));
  const told = JSON.stringify([facts.kept, fresh]);
  const place = document.querySelector('[data-live=curve]');
  if (fresh.length > 0) tiles(form, facts, fresh.at(-1)[1]);
  if (!facts.drawn || fresh.length === 0 || (place.dataset.told === told && place.querySelector('.dot.waits'))) return;
  place.dataset.told = told;
  const drawn = curve({ ...facts, zone }, facts.kept, fresh);
  const figure = document.createElement('figure');
  figure.append(drawn);
  place.querySelector('figure')?.remove();
  place.prepend(figure);
}

/// A time that was typed goes before the time of entry. It was typed in the shop's zone; the difference to this tablet's is the page's to know.
function readAt(entry) {
  const typed = value(entry, 'at');
  return typed ? Date.parse(`${typed}Z`) - (gauge()?.offset ?? 0) : enteredAt(entry);
}

function tiles(form, facts, last) {
  const template = document.getElementById('tiles');
  if (!template || form.dataset.around === String(last)) return;
  form.dataset.around = last;
  form.querySelector('[data-tiles]')?.remove();
  const made = document.createElement('div');
  made.dataset.tiles = '';
  made.append(template.content.cloneNode(true));
  const digits = Math.max(0, Math.ceil(-Math.log10(facts.graduation)));
  made.querySelectorAll('.tile').forEach((tile, index) => {
    const number = last + (2 - index) * facts.graduation;
    tile.querySelector('input').value = String(Number(number.toFixed(6)));
    tile.querySelector('span').textContent = number.toFixed(digits);
    if (number < 0) tile.remove();
  });
  const shown = form.querySelector('[name=tile]')?.closest('.f');
  if (shown && [...form.querySelectorAll('[name=tile]')].some((input) => input.checked)) return;
  if (shown) shown.replaceWith(made); else form.querySelector('[name=reading]').closest('.f').before(made);
  document.dispatchEvent(new Event('rows'));
}

/// Joints whose opening waits can have their seals entered and be checked: a row for each, by its place.
function joints(waiting) {
  const template = document.querySelector('template[data-joint]');
  if (!template) return;
  const order = location.pathname.split('/')[2];
  const opened = waiting.filter((entry) => new RegExp(`^/orders/${order}/bench/(joints|parts)$`).test(entry.path));
  for (const entry of opened) {
    const named = entry.fields.filter(([name, said]) => name === 'joints' && said.startsWith('new:')).map(([, said]) => said.slice(4));
    const free = value(entry, 'other') || value(entry, 'other_joint');
    for (const place of [...named, free.trim()].filter(Boolean)) {
      if (document.querySelector(`[data-place="${CSS.escape(place)}"]`)) continue;
      const row = document.createElement('div');
      row.dataset.place = place;
      const text = document.createElement('i');
      text.textContent = place;
      row.innerHTML = template.innerHTML.replaceAll('__place__', text.innerHTML.replaceAll('"', '&quot;'));
      const after = document.createElement('input');
      Object.assign(after, { type: 'hidden', name: 'after', value: entry.deed });
      row.append(after);
      template.before(row);
      template.closest('form').hidden = false;
      document.dispatchEvent(new Event('rows'));
    }
  }
}
