import yauzl from 'yauzl';
import { sha256 } from '../support.ts';
import { rawZip } from './raw-zip.ts';
import type { RawFile, RawOptions } from './raw-zip.ts';

/** An archive of ours in parts, to be changed and put together again, with checksums that fit the change. */
export type Bag = Map<string, Uint8Array>;
export const TOP = 'bag';

export async function partsOf(path: string): Promise<Bag> {
  const zip = await yauzl.openPromise(path, {});
  const parts: Bag = new Map();
  for await (const entry of zip.eachEntry()) {
    const pieces: Buffer[] = [];
    for await (const piece of await zip.openReadStreamPromise(entry)) pieces.push(piece as Buffer);
    parts.set(entry.fileName.slice(entry.fileName.indexOf('/') + 1), new Uint8Array(Buffer.concat(pieces)));
  }
  return parts;
}

export const text = (value: string): Uint8Array => new TextEncoder().encode(value);
const list = (bag: Bag, names: readonly string[]): Uint8Array =>
  text(names.map((name) => `${sha256(bag.get(name)!)}  ${name}\n`).join(''));

/** Fits manifests and Payload-Oxum to what is in the bag. */
export function sealed(bag: Bag): Bag {
  const payload = [...bag.keys()].filter((name) => name.startsWith('data/'));
  const bytes = payload.reduce((sum, name) => sum + bag.get(name)!.byteLength, 0);
  const whole = new Map(bag);
  whole.set('bag-info.txt', text(`Payload-Oxum: ${bytes}.${payload.length}\n`));
  whole.set('manifest-sha256.txt', list(whole, payload));
  whole.set('tagmanifest-sha256.txt', list(whole, ['bagit.txt', 'bag-info.txt', 'manifest-sha256.txt']));
  return whole;
}

export const filesOf = (bag: Bag): RawFile[] =>
  [...bag].map(([name, data]) => ({ name: `${TOP}/${name}`, data }));

export const zipOf = (bag: Bag, more: readonly RawFile[] = [], options: RawOptions = {}): Buffer =>
  rawZip([...filesOf(bag), ...more], options);
