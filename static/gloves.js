// While a hold runs: the screen stays awake, and when the next reading helps the page's title says so, once, with one vibration. Nothing where the
// browser cannot.

let lock = null;
let timer = 0;
let said = false;
const title = document.title;

look();
document.addEventListener('live', look);
document.addEventListener('visibilitychange', () => { if (!document.hidden) awake(); });

function look() {
  const runs = document.querySelector('[data-runs]');
  if (runs) awake(); else asleep();
  clearTimeout(timer);
  // The server counts the time that is left: the tablet's clock may be wrong.
  const left = Number(runs?.dataset.helpsIn);
  if (left > 0) {
    said = false;
    document.title = title;
    timer = setTimeout(remind, left);
  } else if (!said || !runs) {
    document.title = title;
  }
}

function remind() {
  if (said) return;
  said = true;
  document.title = `Read the gauge · ${title}`;
  navigator.vibrate?.(300);
}

async function awake() {
  if (lock || !document.querySelector('[data-runs]') || !navigator.wakeLock) return;
  try {
    lock = await navigator.wakeLock.request('screen');
    lock.addEventListener('release', () => { lock = null; });
  } catch {
    // The battery is low, or the page is not seen.
  }
}

function asleep() {
  lock?.release();
  lock = null;
}

// A name was tapped: the code is next.
const code = document.querySelector('[data-who] input[type=password]');
if (code) document.querySelectorAll('[data-who] input[name=person]').forEach((name) => name.addEventListener('change', () => code.focus()));
