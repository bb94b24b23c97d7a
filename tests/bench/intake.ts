import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import sharp from 'sharp';
import { decodePicture } from '../../electron/host/pictures/decode.ts';
import { openHost } from '../../electron/host/host.ts';
import type { HostReply } from '../../shared/index.ts';
import { withFolder } from './collection.ts';
import type { Sizes } from './comparing.ts';
import { median, root, runChild } from './measure.ts';
import { row, section, type Section } from './table.ts';

export type Intake = {
  readonly decodeMs: Readonly<Record<string, number>>;
  readonly importMs: readonly number[];
};

async function decodeMs(file: Uint8Array, runs: number): Promise<number> {
  const times: number[] = [];
  for (let i = 0; i < runs; i++) {
    const at = performance.now();
    const decoded = await decodePicture(file);
    if (!decoded.ok) throw new Error(`bench: ${decoded.reason.message}`);
    times.push(performance.now() - at);
  }
  return median(times);
}

/** Files as they lie there, through the door that the window uses: looked at, hashed, stored, a row each. */
async function importMs(folder: string, names: readonly string[]): Promise<number[]> {
  return withFolder(async (collection) => {
    const host = await openHost({
      folder: collection,
      who: 'the bench',
      shell: 'test',
      version: '0.0.0',
      workerFile: join(root, 'dist', 'host', 'engine-worker.js'),
      printPdf: null,
      demoFolder: null,
    });
    const value = (reply: HostReply): Record<string, unknown> => {
      if (!reply.ok) throw new Error(`bench: ${reply.error.message}`);
      return reply.value as Record<string, unknown>;
    };
    const draft = { name: 'One', cartridge: '', profile: '', deck: '', currency: '', notes: '' };
    const unknown = { radiusUm: null, sideRadiusUm: null, ratedHours: null, startDate: null };
    const rest = { startHours: null, price: null, limitUm: null };
    const stylus = value(await host.call('stylus.create', { ...draft, ...unknown, ...rest }));
    const times: number[] = [];
    for (const name of names) {
      const bytes = new Uint8Array(readFileSync(join(folder, name)));
      const at = performance.now();
      const offered = value(await host.call('picture.offer', { fileName: name, bytes }));
      const facts = { view: 'front', light: 'backlit', mirrored: null, taken: null, scale: null };
      const more = { microscope: '', isBaseline: false, notes: '' };
      const { token } = offered;
      value(await host.call('capture.add', { token, stylusId: stylus['id'], ...facts, ...more }));
      times.push(performance.now() - at);
    }
    await host.close();
    return times;
  });
}

export async function intakeOf(folder: string, small: string, large: string, all: string[]): Promise<Intake> {
  const files: Record<string, Uint8Array> = {};
  for (const [size, name] of [
    ['1.2 MP', small],
    ['5 MP', large],
  ] as const) {
    const jpeg = new Uint8Array(readFileSync(join(folder, name)));
    files[`${size} JPEG`] = jpeg;
    files[`${size} PNG`] = new Uint8Array(await sharp(jpeg).png().toBuffer());
  }
  const times: Record<string, number> = {};
  for (const [name, bytes] of Object.entries(files)) times[name] = await decodeMs(bytes, 9);
  return { decodeMs: times, importMs: await importMs(folder, all) };
}

export async function intake(folder: string, { small, large }: Sizes): Promise<Section> {
  const all = small.flatMap((pair) => [pair.baseline, pair.later]).slice(0, 40);
  const options = { folder, small: small[0].baseline, large: large[0].baseline, all };
  const found = (await runChild('intake', options)).value as Intake;
  const [, ...later] = found.importMs;
  return section([
    ...Object.entries(found.decodeMs).map(([name, ms]) => row(`decoding a ${name}`, ms, 'ms', { runs: 9 })),
    row('first picture taken in, thread started', found.importMs[0], 'ms'),
    row('one 1.2 MP picture taken in', median(later), 'ms', { runs: later.length }),
    row('pictures taken in a second', 1000 / median(later), '', { runs: later.length }),
  ]);
}
