import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { decodeMessage, encodeMessage } from '../../shared/index.ts';

const bytes = (...values: number[]) => new Uint8Array(values);

/** What a message may hold: JSON with arrays of bytes anywhere. `$bytes` is the codec's own word and left out. */
const { message } = fc.letrec((tie) => ({
  message: fc.oneof(
    { maxDepth: 5, withCrossShrink: true },
    fc.constant(null),
    fc.boolean(),
    fc.integer(),
    fc.double({ noNaN: true, noDefaultInfinity: true }).map((x) => (Object.is(x, -0) ? 0 : x)),
    fc.string({ unit: 'binary' }),
    fc.uint8Array({ maxLength: 64 }),
    fc.array(tie('message'), { maxLength: 5 }),
    fc.dictionary(
      fc.string().filter((key) => key !== '$bytes' && key !== '__proto__' && key !== 'toJSON'),
      tie('message'),
      { maxKeys: 5, noNullPrototype: true },
    ),
  ),
}));

describe('messages with bytes in them', () => {
  it('come back as they were sent', () => {
    fc.assert(
      fc.property(message, (value) => {
        expect(decodeMessage(encodeMessage(value))).toEqual(value);
      }),
      { numRuns: 300 },
    );
  });

  it('may lie anywhere in a larger buffer, and share no memory with it', () => {
    const plain = encodeMessage({ a: bytes(1, 2, 3), b: [bytes(), bytes(9)] });
    const larger = new Uint8Array(plain.length + 7);
    larger.set(plain, 5);
    const part = larger.subarray(5, 5 + plain.length);
    const back = decodeMessage(part) as { a: Uint8Array; b: Uint8Array[] };
    larger.fill(0);
    expect(back).toEqual({ a: bytes(1, 2, 3), b: [bytes(), bytes(9)] });
  });

  it('sends only the bytes that a view shows', () => {
    const view = bytes(1, 2, 3, 4, 5).subarray(1, 3);
    expect(decodeMessage(encodeMessage(view))).toEqual(bytes(2, 3));
    expect(encodeMessage(view).length).toBe(encodeMessage(bytes(2, 3)).length);
  });

  it('carry megabytes', () => {
    const picture = new Uint8Array(3_000_000).map((_, index) => index % 251);
    const back = decodeMessage(encodeMessage({ picture })) as { picture: Uint8Array };
    expect(Buffer.compare(back.picture, picture)).toBe(0);
  });

  it('are refused with a RangeError when they are cut short at any place', () => {
    const whole = encodeMessage({ name: 'tip', bytes: bytes(1, 2, 3, 4) });
    for (let length = 0; length < whole.length; length++)
      expect(() => decodeMessage(whole.subarray(0, length)), `cut at ${length}`).toThrow(RangeError);
  });

  it.each([
    ['beyond the end', '{"$bytes":[0,5]}'],
    ['starting beyond the end', '{"$bytes":[5,0]}'],
    ['a negative offset', '{"$bytes":[-1,2]}'],
    ['a negative length', '{"$bytes":[2,-1]}'],
    ['half a byte', '{"$bytes":[0.5,1]}'],
    ['a number too large to be one', '{"$bytes":[0,1e400]}'],
    ['words', '{"$bytes":["0","4"]}'],
    ['nothing', '{"$bytes":[]}'],
    ['null', '{"$bytes":[null,null]}'],
  ])('are refused when a place lies: %s', (_what, json) => {
    expect(() => decodeMessage(raw(json, bytes(1, 2, 3, 4)))).toThrow(RangeError);
  });

  it('never answer noise with anything but a value or a plain error', () => {
    const errors = new Set<string>();
    const look = (noise: Uint8Array) => {
      try {
        decodeMessage(noise);
      } catch (error) {
        errors.add((error as Error).constructor.name);
      }
    };
    fc.assert(fc.property(fc.uint8Array({ maxLength: 200 }), look), { numRuns: 500 });
    // Noise behind a head that is right, and single flipped bytes of a good message, reach further in.
    fc.assert(
      fc.property(fc.string({ maxLength: 60 }), fc.uint8Array({ maxLength: 20 }), (json, body) => {
        look(raw(json, body));
      }),
      { numRuns: 500 },
    );
    const good = encodeMessage({ a: [bytes(1, 2), { b: bytes(3) }], c: 'x' });
    fc.assert(
      fc.property(fc.nat(good.length - 1), fc.integer({ min: 1, max: 255 }), (at, flip) => {
        const bad = good.slice();
        bad[at] ^= flip;
        look(bad);
      }),
      { numRuns: 500 },
    );
    expect([...errors].toSorted()).toEqual(['RangeError', 'SyntaxError']);
  });

  it('carries a Node Buffer like any other bytes, also one that is a window into a larger memory', () => {
    const window = Buffer.from([9, 1, 2, 3, 9]).subarray(1, 4);
    expect(decodeMessage(encodeMessage({ a: [window] }))).toEqual({ a: [bytes(1, 2, 3)] });
    expect(decodeMessage(encodeMessage(window))).toEqual(bytes(1, 2, 3));
  });

  it('cannot reach the prototype of anything', () => {
    const back = decodeMessage(raw('{"__proto__":{"polluted":true}}', bytes()));
    expect(({} as { polluted?: boolean }).polluted).toBeUndefined();
    expect(Object.getPrototypeOf(back)).toBe(Object.prototype);
  });
});

/** A message as a stranger might write it: the JSON text as given, the length right. */
function raw(json: string, body: Uint8Array): Uint8Array {
  const head = new TextEncoder().encode(json);
  const out = new Uint8Array(4 + head.length + body.length);
  new DataView(out.buffer).setUint32(0, head.length, true);
  out.set(head, 4);
  out.set(body, 4 + head.length);
  return out;
}
