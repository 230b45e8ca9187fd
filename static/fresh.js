// A page that is kept at the tablet may come many times with the same forms: each time they are deeds of their own. Before anything else looks at them.

if ('away' in document.body.dataset) document.querySelectorAll('input[name=deed]').forEach((field) => { field.value = uuid(); });

/// UUID version 7: milliseconds, then chance.
function uuid() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  new DataView(bytes.buffer).setUint32(0, Math.floor(Date.now() / 2 ** 16));
  new DataView(bytes.buffer).setUint16(4, Date.now() % 2 ** 16);
  bytes[6] = 0x70 | (bytes[6] & 0x0f);
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join('');
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5');
}
