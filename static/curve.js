// The curve of a hold with readings that the server has not seen yet: the same grid, band and line as the server draws. No verdict: there is one
// calculation, and it is the server's.

const LEFT = 66, RIGHT = 744, TOP = 14, BOTTOM = 172;
const MOST_LINES = 7;
const SVG = 'http://www.w3.org/2000/svg';

/// `hold` says how its gauge counts: `graduation`, `inverted`, `zone`; `kept` and `waiting` are `[milliseconds, what the gauge shows]`.
export function curve(hold, kept, waiting) {
  const all = [...kept, ...waiting].sort((a, b) => a[0] - b[0]);
  if (all.length === 0) return null;
  const up = (value) => (hold.inverted ? -value : value);
  const values = all.map(([, value]) => up(value));
  const spread = Math.max(...values) - Math.min(...values);
  const low = Math.min(...values) - hold.graduation;
  const high = Math.max(...values) + Math.max(hold.graduation, 0.1 * spread);
  const from = all[0][0];
  const length = Math.max(all.at(-1)[0] - from, 60e3);
  const x = (at) => LEFT + ((RIGHT - LEFT) * (at - from)) / length;
  const y = (value) => BOTTOM - ((BOTTOM - TOP) * (value - low)) / (high - low);
  const points = (shift) => all.map(([at, value]) => `${x(at).toFixed(1)} ${y(up(value) + shift).toFixed(1)}`);
  const half = hold.graduation / 2;
  const clock = (at) => new Date(at).toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit', timeZone: hold.zone });

  const svg = element('svg', { class: 'curve', viewBox: '0 0 760 208', role: 'img', 'aria-label': says(all, waiting, clock) });
  const lines = grid(low, high, hold.graduation);
  svg.append(
    element('path', { class: 'grid', d: lines.map((value) => `M${LEFT} ${y(value).toFixed(1)}H${RIGHT}`).join('') }),
    element('path', { class: 'axis', d: `M${LEFT} 10V${BOTTOM}H${RIGHT}` }),
    element('path', { class: 'band', d: `M${[...points(half), ...points(-half).reverse()].join('L')}Z` }),
    element('path', { class: 'line', d: `M${points(0).join('L')}` }),
  );
  for (const [at, value] of all) {
    const waits = waiting.some(([other]) => other === at);
    svg.append(element('circle', { class: waits ? 'dot waits' : 'dot', cx: x(at).toFixed(1), cy: y(up(value)).toFixed(1), r: 6 }));
  }
  const digits = hold.graduation >= 1 ? 0 : Math.min(4, Math.ceil(-Math.log10(hold.graduation)));
  for (const value of lines) svg.append(element('text', { class: 'end', x: 58, y: (y(value) + 5).toFixed(1) }, Math.abs(value).toFixed(digits)));
  let last = -Infinity;
  for (const [at] of all.filter(([at]) => { const free = x(at) - last >= 58; if (free) last = x(at); return free; })) {
    const anchor = x(at) < LEFT + 30 ? 'start' : x(at) > RIGHT - 40 ? 'end' : 'mid';
    svg.append(element('text', { class: anchor, x: x(at).toFixed(1), y: 198 }, clock(at)));
  }
  return svg;
}

/// Grid lines at graduations, thinned by 1, 2, 5 where they would stand too close.
function grid(low, high, graduation) {
  let step = graduation;
  for (const factor of Array(20).fill([2, 2.5, 2]).flat()) {
    if ((high - low) / step <= MOST_LINES) break;
    step *= factor;
  }
  const lines = [];
  for (let value = Math.ceil(low / step) * step; value <= high; value += step) lines.push(value);
  return lines;
}

function says(all, waiting, clock) {
  const told = all.map(([at, value]) => `${clock(at)}: ${value}${waiting.some(([other]) => other === at) ? '; waiting for the server' : ''}`);
  return `Readings against time. ${told.join('; ')}`;
}

function element(name, attributes, text) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text !== undefined) made.textContent = text;
  return made;
}
