/**
 * Messages with bytes in them, for the loopback host: 4 bytes little-endian length of the JSON part, the JSON with
 * every Uint8Array replaced by {"$bytes":[offset,length]}, then the bytes one after another.
 */
type BytesPlace = { $bytes: [number, number] };

const isPlace = (value: unknown): value is BytesPlace =>
  typeof value === 'object' && value !== null && Array.isArray((value as Partial<BytesPlace>).$bytes);

function holdsBytes(value: unknown): boolean {
  if (typeof value !== 'object' || value === null) return false;
  if (value instanceof Uint8Array) return true;
  if (Array.isArray(value)) return value.some(holdsBytes);
  for (const key in value) if (holdsBytes((value as Record<string, unknown>)[key])) return true;
  return false;
}

export function encodeMessage(value: unknown): Uint8Array {
  const parts: Uint8Array[] = [];
  let total = 0;
  // A Node Buffer has a toJSON of its own that runs before the replacer, so the property is read from its holder.
  const replace = function (this: Record<string, unknown>, key: string, item: unknown): unknown {
    const raw = this[key];
    if (!(raw instanceof Uint8Array)) return item;
    const place: BytesPlace = { $bytes: [total, raw.byteLength] };
    parts.push(raw);
    total += raw.byteLength;
    return place;
  };
  // A call for each of half a million values takes longer than the text itself; most messages carry no bytes.
  const json = holdsBytes(value) ? JSON.stringify(value, replace) : JSON.stringify(value);
  const head = new TextEncoder().encode(json ?? 'null');
  const out = new Uint8Array(4 + head.byteLength + total);
  new DataView(out.buffer).setUint32(0, head.byteLength, true);
  out.set(head, 4);
  let at = 4 + head.byteLength;
  for (const part of parts) {
    out.set(part, at);
    at += part.byteLength;
  }
  return out;
}

/** Throws a RangeError on a message that is cut short or lies about its lengths. */
export function decodeMessage(message: Uint8Array): unknown {
  if (message.byteLength < 4) throw new RangeError('message: shorter than its own head');
  const headLength = new DataView(message.buffer, message.byteOffset).getUint32(0, true);
  if (4 + headLength > message.byteLength) throw new RangeError('message: the JSON part is cut short');
  const body = message.subarray(4 + headLength);
  const revive = (_key: string, item: unknown): unknown => {
    if (!isPlace(item)) return item;
    const [offset, length] = item.$bytes;
    if (!Number.isInteger(offset) || !Number.isInteger(length) || offset < 0 || length < 0)
      throw new RangeError('message: a place for bytes is no whole number');
    if (offset + length > body.byteLength) throw new RangeError('message: bytes are missing');
    return body.slice(offset, offset + length);
  };
  const json = new TextDecoder().decode(message.subarray(4, 4 + headLength));
  // A backslash could write the word in another way, so only a text without either is read straight.
  return json.includes('$bytes') || /\\u0/i.test(json) ? JSON.parse(json, revive) : JSON.parse(json);
}
