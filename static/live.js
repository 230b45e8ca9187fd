// What others enter appears here: the server says that something was kept, the page fetches itself again, and the parts marked data-live that have
// changed are replaced. A form in which somebody types stays as it is, and where it is.
import { changed, typedInto } from './forms.js';

const main = document.querySelector('[data-live-from]');
if (main && 'EventSource' in window) listen();

function listen() {
  // Where the reader stands is kept below; the browser must not do it a second time.
  document.documentElement.style.overflowAnchor = 'none';
  let seen = new URL(main.dataset.liveFrom, location.href);
  let source = null;
  const open = () => {
    if (source) return;
    source = new EventSource(seen);
    source.addEventListener('kept', (event) => {
      seen.searchParams.set('since', event.lastEventId);
      refresh();
    });
  };
  // A page that nobody sees needs no stream; it asks for what it missed when it is seen again.
  const close = () => { source?.close(); source = null; };
  document.addEventListener('visibilitychange', () => (document.hidden ? close() : open()));
  addEventListener('pagehide', close);
  addEventListener('pageshow', () => { if (!document.hidden) open(); });
  if (!document.hidden) open();
}

// ---- fetching ----

let fetching = false;
let again = false;
/// One at a time; what is kept meanwhile is fetched afterwards.
export async function refresh() {
  if (!main) return;
  if (fetching) { again = true; return; }
  fetching = true;
  try {
    do {
      again = false;
      const answer = await fetch(main.dataset.livePage, { headers: { accept: 'text/html' } });
      // Signed out meanwhile: the page stays as it is.
      if (!answer.ok || answer.redirected) continue;
      const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
      await fingerUp();
      document.body.dataset.now = page.body.dataset.now;
      replaceParts(page);
    } while (again);
  } catch {
    // The network is gone; the stream says so too, and asks again.
  } finally {
    fetching = false;
  }
}

let down = false;
addEventListener('pointerdown', () => { down = true; }, true);
for (const kind of ['pointerup', 'pointercancel']) addEventListener(kind, () => { down = false; }, true);
/// Nothing moves away from under a finger.
async function fingerUp() {
  while (down) await new Promise((done) => { setTimeout(done, 50); });
}

// ---- replacing ----

function replaceParts(page) {
  const anchor = standing();
  const before = anchor?.getBoundingClientRect().top;
  for (const part of document.querySelectorAll('[data-live]')) {
    const fresh = page.querySelector(`[data-live="${part.dataset.live}"]`);
    if (fresh && !isInUse(part) && bare(part) !== bare(fresh)) replace(part, fresh);
  }
  if (anchor?.isConnected) stay(anchor, before);
  document.dispatchEvent(new Event('live'));
}

/// A form that somebody filled in or stands in.
function isInUse(part) {
  const active = document.activeElement;
  if (part.contains(active) && typedInto(active)) return true;
  return [...part.querySelectorAll('form')].some(changed);
}

/// Each form carries a new id whenever it is fetched; that is no change.
function bare(part) {
  return part.innerHTML.replace(/name="deed" value="[^"]*"/g, '');
}

function replace(part, fresh) {
  const focused = part.contains(document.activeElement) ? sameAs(document.activeElement) : null;
  part.replaceChildren(...[...fresh.childNodes].map((node) => document.adoptNode(node)));
  if (focused) part.querySelector(focused)?.focus({ preventScroll: true });
}

/// A selector that finds a link or a button again after its part was replaced.
function sameAs(element) {
  const href = element.getAttribute('href');
  if (href) return `a[href="${CSS.escape(href)}"]`;
  const action = element.closest('form')?.getAttribute('action');
  return action ? `form[action="${CSS.escape(action)}"] button` : null;
}

/// What must not move: the field in which somebody types, else the first part of the page that is in sight.
function standing() {
  const active = document.activeElement;
  if (active && active !== document.body && active.closest('main')) return active;
  return [...main.querySelectorAll('form, h2, table, ul')].find((e) => e.getBoundingClientRect().top >= 0) ?? null;
}

/// Scrolls by what the page grew or shrank above; where that is not enough, there is room to be made.
function stay(anchor, before) {
  const off = () => anchor.getBoundingClientRect().top - before;
  if (Math.abs(off()) < 1) return;
  scrollBy({ top: off(), behavior: 'instant' });
  const more = off();
  if (more > 1) {
    main.style.paddingBottom = `${parseFloat(getComputedStyle(main).paddingBottom) + more}px`;
    scrollBy({ top: more, behavior: 'instant' });
  } else if (more < -1) {
    main.style.paddingTop = `${parseFloat(getComputedStyle(main).paddingTop) - more}px`;
  }
}
