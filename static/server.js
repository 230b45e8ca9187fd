// How the worker asks the server, how long it waits, and what it remembers of the server's clock.
import { get, put } from '/static/disk.js';

export const DAY = 24 * 3600e3;
const A_WHILE = 10e3;
const A_MINUTE = 60e3;
/// How long one waits for an answer: a page that is kept here too, an entry, anything where the server did not answer a moment ago.
const PATIENCE = { page: 5000, entry: 4000, lost: 1500 };

const channel = new BroadcastChannel('chillwright');
export const tell = (what) => channel.postMessage(what);

let lostAt = 0;
export const isLost = () => Date.now() - lostAt < A_WHILE;
export const patience = (what) => (isLost() ? PATIENCE.lost : PATIENCE[what]);

/// The server did not answer in time.
export function lose() {
  lostAt = Date.now();
  tell('lost');
}

/// Asks the server; fails where no answer comes in time.
export async function ask(request, options, limit) {
  let timer;
  const late = new Promise((_, failed) => { timer = setTimeout(() => failed(new Error('no answer')), limit ?? 2 ** 31 - 1); });
  try {
    const response = await Promise.race([fetch(request, options), late]);
    heard(response).catch(() => {});
    return response;
  } catch (error) {
    lose();
    throw error;
  } finally {
    clearTimeout(timer);
  }
}

/// The server's clock beside the tablet's own: what an entry's time is counted from. Of all that the server said the word counts that was quickest on its
/// way, so that later entries never come before earlier ones; a new one is begun where a clock was set, and twice a day.
let noted = 0;
async function heard(response) {
  const server = Number(response.headers.get('chillwright-now'));
  const tablet = Date.now();
  // What comes out of the browser's own cache is no word of the server.
  if (!server) return;
  lostAt = 0;
  const known = await get('facts', 'contact');
  const quicker = known ? server - tablet - (known.server - known.tablet) : Infinity;
  const aged = known && Math.abs(tablet - known.tablet) > DAY / 2;
  if (quicker > 0 || quicker < -A_MINUTE || aged) await put('facts', { key: 'contact', server, tablet });
  if (Math.abs(tablet - noted) < 1000) return;
  noted = tablet;
  await put('facts', { key: 'heard', server, tablet });
}

/// UUID version 7: milliseconds, then chance.
export function uuid() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  new DataView(bytes.buffer).setUint32(0, Math.floor(Date.now() / 2 ** 16));
  new DataView(bytes.buffer).setUint16(4, Date.now() % 2 ** 16);
  bytes[6] = 0x70 | (bytes[6] & 0x0f);
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join('');
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5');
}
