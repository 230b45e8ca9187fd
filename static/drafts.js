// What is half typed is still there after a reload or a flat battery, for the same person and the same form, and gone once it was kept.
// It lies in this browser's own database, because that is on the disk when it says so. Codes and files are never kept.
import { all, entered, put, remove } from './disk.js';
import { changed, draftKey, fieldChanged, fields } from './forms.js';

const OLDEST = 14 * 24 * 3600e3;
const person = document.body.dataset.person;
const forms = [...document.querySelectorAll('form[data-draft]')];

/// What was typed before is brought first; what is typed meanwhile is written after that.
let ready = null;
function begin() {
  for (const form of forms) {
    const draft = handed(form);
    if (draft) {
      restore(form, draft);
      says(form, draft);
    }
  }
  ready = back();
  forms.forEach(watch);
  document.addEventListener('live', () => {
    document.querySelectorAll('form[data-draft]').forEach((form) => { if (!forms.includes(form)) { forms.push(form); watch(form); } });
  });
  document.querySelectorAll('[data-change-person]').forEach((link) => link.addEventListener('click', handOver));
}

async function back() {
  try {
    const keys = forms.map((form) => keyOf(form, person));
    await Promise.all((await everything()).map((draft) => settle(draft, keys.includes(draft.key))));
    const left = await everything();
    forms.forEach((form) => bring(form, left));
  } catch {
    // Without a database the page works as plain forms do.
  }
}

const everything = () => all('drafts');
const keep = (draft) => put('drafts', draft);
const drop = (key) => remove('drafts', key);

// ---- what became of it ----

/// What became an entry is a draft no more. Else the server knows whether its deed was kept: also where its answer never came. One that is too old goes.
async function settle(draft, isHere) {
  if (Date.now() - draft.at > OLDEST) return drop(draft.key);
  if (!isHere) return undefined;
  if (await entered(draft.deed)) return drop(draft.key);
  const answer = await fetch(`/deeds/${draft.deed}`).catch(() => null);
  return answer?.ok && !answer.redirected && (await answer.text()) === 'kept' ? drop(draft.key) : undefined;
}

// ---- a form ----

function keyOf(form, who) {
  return draftKey(who, new URL(form.action, location.href).pathname, (name) => form.elements[name]?.value);
}

function bring(form, drafts) {
  // A form that the server sent back carries what was typed already.
  const refused = form.querySelector('.faults') !== null;
  const draft = drafts.find((d) => d.key === keyOf(form, person));
  if (draft && !refused && !form.querySelector('.draft')) {
    backIn(form, draft);
  }
  if (refused || changed(form)) write(form);
}

/// In its form again, unless it was typed in other units: then it is said, and kept.
function backIn(form, draft) {
  const units = form.elements.units?.value;
  if (draft.units && units && draft.units !== units) return says(form, draft, 'was in other units: switch them, and it is back. ');
  restore(form, draft);
  // Rows that a script makes come later.
  document.addEventListener('rows', () => restore(form, draft));
  return says(form, draft, 'is back. ');
}

function restore(form, draft) {
  form.elements.deed.value = draft.deed;
  for (const field of fields(form)) {
    const values = draft.values[field.name];
    // What was typed since the page came stands.
    if (!values || fieldChanged(field)) continue;
    if (field.type === 'radio' || field.type === 'checkbox') field.checked = values.includes(field.value);
    else [field.value] = values;
  }
}

function says(form, draft, what = 'is back. ') {
  const line = document.createElement('p');
  line.className = 'draft s';
  line.setAttribute('role', 'status');
  const clock = new Date(draft.at).toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit' });
  line.append(`What you typed at ${clock} ${what}`);
  const button = document.createElement('button');
  button.type = 'button';
  button.className = 'link';
  button.textContent = 'Discard';
  button.addEventListener('click', () => discard(form, line));
  line.append(button);
  form.prepend(line);
}

async function discard(form, line) {
  await drop(keyOf(form, person));
  form.reset();
  line.remove();
  fields(form)[0]?.focus();
}

function watch(form) {
  const typed = () => ready.then(() => write(form));
  form.addEventListener('input', typed);
  form.addEventListener('change', typed);
  form.addEventListener('submit', typed);
}

/// Writes what the form says; nothing where it says what it said when it came.
function write(form) {
  const key = keyOf(form, person);
  if (!changed(form) && !form.querySelector('.faults')) { drop(key).catch(() => {}); return; }
  keep({ key, at: Date.now(), deed: form.elements.deed.value, units: form.elements.units?.value, values: valuesOf(form) }).catch(() => {});
}

function valuesOf(form) {
  const values = {};
  for (const field of fields(form)) {
    const list = (values[field.name] ??= []);
    if ((field.type !== 'radio' && field.type !== 'checkbox') || field.checked) list.push(field.value);
  }
  return values;
}

// ---- another person takes the tablet ----

/// What is half typed on this page goes along to whoever signs in next; at once, so that nobody waits for the disk.
function handOver() {
  for (const form of forms.filter((f) => f.isConnected && changed(f))) {
    const draft = { at: Date.now(), deed: form.elements.deed.value, values: valuesOf(form) };
    sessionStorage.setItem(keyOf(form, ''), JSON.stringify(draft));
    drop(keyOf(form, person)).catch(() => {});
  }
}

function handed(form) {
  const key = keyOf(form, '');
  const text = sessionStorage.getItem(key);
  sessionStorage.removeItem(key);
  return text ? JSON.parse(text) : null;
}

if (person && 'indexedDB' in window) begin();
