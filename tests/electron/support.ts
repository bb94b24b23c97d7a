import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import sharp from 'sharp';
import { onTestFinished } from 'vitest';
import { openHost, type Host, type HostOptions } from '../../electron/host/host.ts';
import type { InputOf, MethodName, OutputOf, StylusDraft } from '../../shared/index.ts';

/** Helpers of the tests on the machine's side: folders that go away, pictures, a host on a collection of its own. */
export const root = fileURLToPath(new URL('../..', import.meta.url));
export const workerFile = join(root, 'dist', 'host', 'engine-worker.js');

/** Threads need built code; only the machine's side is built, and only when it is stale. */
export function buildHost(): void {
  const script = join(root, 'electron', 'build.mjs');
  const made = spawnSync(process.execPath, [script, '--silent', '--only=host'], { encoding: 'utf8' });
  if (made.status !== 0) throw new Error(`The build failed.\n${made.stdout}${made.stderr}`);
}

export function temporaryFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'daybook-test-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true, maxRetries: 5 }));
  return folder;
}

export const sha256 = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');

/** A picture with a bright and a dark part; `shade` makes different content. */
export async function picture(
  shade = 128,
  format: 'png' | 'jpeg' | 'tiff' | 'webp' = 'png',
): Promise<Uint8Array> {
  const data = Buffer.alloc(64 * 48, 220);
  for (let y = 0; y < 30; y++) data.fill(shade, y * 64 + 20, y * 64 + 40);
  const bytes = await sharp(data, { raw: { width: 64, height: 48, channels: 1 } })
    .toColourspace('b-w')
    .toFormat(format)
    .toBuffer();
  return new Uint8Array(bytes);
}

export const DRAFT: StylusDraft = {
  name: 'Left-hand deck',
  cartridge: 'as found',
  profile: 'round',
  deck: '',
  radiusUm: 18,
  sideRadiusUm: null,
  ratedHours: null,
  startDate: '2024-01-01',
  startHours: 10,
  price: null,
  currency: '',
  limitUm: null,
  notes: '',
};

export const FACTS: Omit<InputOf<'capture.add'>, 'token' | 'stylusId'> = {
  view: 'front',
  light: 'backlit',
  mirrored: false,
  taken: { wall: '2024-03-01T10:00', offset: null, source: 'person' },
  scale: { umPerPx: 1, standardUmPerPx: null, source: 'typed' },
  microscope: '',
  isBaseline: false,
  notes: '',
};

export type TestHost = Host & {
  /** The value, or an error with the refusal's code and sentence. */
  ask<M extends MethodName>(name: M, input: InputOf<M>): Promise<OutputOf<M>>;
};

export async function testHost(folder: string, options: Partial<HostOptions> = {}): Promise<TestHost> {
  const host = await openHost({
    folder,
    who: 'a test',
    shell: 'test',
    version: '0.0.0',
    workerFile,
    printPdf: null,
    demoFolder: null,
    ...options,
  });
  onTestFinished(() => host.close());
  return {
    ...host,
    async ask<M extends MethodName>(name: M, input: InputOf<M>) {
      const reply = await host.call(name, input);
      if (!reply.ok) throw new Error(`${reply.error.code}: ${reply.error.message}`);
      return reply.value as OutputOf<M>;
    },
  };
}

/** A picture through the door that the window uses. */
export async function addPicture(
  host: TestHost,
  stylusId: string,
  bytes: Uint8Array,
  facts: Partial<InputOf<'capture.add'>> = {},
): Promise<OutputOf<'capture.add'>> {
  const offered = await host.ask('picture.offer', {
    fileName: 'a.png',
    bytes: new Uint8Array(bytes),
  });
  return host.ask('capture.add', { ...FACTS, token: offered.token, stylusId, ...facts });
}
