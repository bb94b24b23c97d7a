import { spawnSync } from 'node:child_process';
import { mkdirSync, symlinkSync, writeFileSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { decodePicture } from '../../../electron/host/pictures/decode.ts';
import { MAX_PIXELS } from '../../../electron/host/pictures/open.ts';
import { bytesOf } from '../../../electron/host/pictures/source.ts';
import { buildHost, temporaryFolder, workerFile } from '../support.ts';
import { corpus, type Odd } from './corpus.ts';

/**
 * Every bad or odd file is refused with a sentence or read right, once in this process to look at its pixels and once
 * by the built measuring thread in a process of its own, whose memory is measured.
 */
let asked = 0;
let server: Server;
let files: Odd[];

beforeAll(async () => {
  // An address that a picture may name and that nobody may ask for.
  server = createServer((_request, response) => {
    asked++;
    response.end();
  });
  await new Promise<void>((done) => {
    server.listen(0, '127.0.0.1', done);
  });
  const { port } = server.address() as AddressInfo;
  files = await corpus({ maxPixels: MAX_PIXELS, reach: `http://127.0.0.1:${port}/pixel.png` });
}, 180_000);
afterAll(() => {
  server.close();
});

/** A sentence for a person: ends like one, and holds no word of a library or a programmer. */
const SENTENCE = /^[A-Z][^\n]{20,300}\.$/;
const PROGRAMMERS = /vips|libpng|libjpeg|libtiff|\bat \w+ \(|Error:|undefined|null|NaN|0x[0-9a-f]{4}/i;

function unfit(name: string, { code, message }: { code: string; message: string }): string[] {
  const fit = code === 'unreadable-image' && SENTENCE.test(message) && !PROGRAMMERS.test(message);
  return fit ? [] : [`${name}: refused with ${code}, "${message}"`];
}

describe('a corpus of bad and odd pictures', () => {
  it('holds at least 150 files, of which no two are named alike', () => {
    expect(files.length).toBeGreaterThanOrEqual(150);
    expect(new Set(files.map(({ name }) => name)).size).toBe(files.length);
  });

  it('is refused with a sentence, file by file, or read right in size and brightness', async () => {
    const wrong: string[] = [];
    for (const { name, bytes, right } of files) {
      const decoded = await decodePicture(bytes);
      if (right === null) {
        wrong.push(...(decoded.ok ? [`${name}: was read`] : unfit(name, decoded.reason)));
        continue;
      }
      if (!decoded.ok) {
        wrong.push(`${name}: ${decoded.reason.message}`);
        continue;
      }
      const { picture, warnings } = decoded.value;
      const { width, height, channels, data } = picture;
      if (width !== right.widthPx || height !== right.heightPx) wrong.push(`${name}: ${width} x ${height}`);
      if (right.warning !== undefined && !warnings.some(({ code }) => code === right.warning))
        wrong.push(`${name}: no warning`);
      const unit = data instanceof Uint16Array ? 257 : 1;
      for (const [x, y, level, tolerance] of right.at ?? []) {
        const found = data[(y * width + x) * channels + (channels === 3 ? 1 : 0)] / unit;
        if (Math.abs(found - level) > tolerance) wrong.push(`${name}: ${found} at ${x}, ${y}, not ${level}`);
      }
    }
    expect(wrong).toEqual([]);
  }, 300_000);

  it('asks for nothing that a picture names', () => {
    expect(asked).toBe(0);
  });
});

describe('files that are no pictures in a folder of pictures', () => {
  it('are refused with a sentence: folders, pipes, devices, links that go round', async () => {
    const folder = temporaryFolder();
    mkdirSync(join(folder, 'folder.jpg'));
    symlinkSync(join(folder, 'round.png'), join(folder, 'round.png'));
    symlinkSync('/dev/zero', join(folder, 'endless.tif'));
    spawnSync('mkfifo', [join(folder, 'pipe.webp')]);
    writeFileSync(join(folder, 'empty.jpg'), '');
    for (const name of ['folder.jpg', 'round.png', 'endless.tif', 'pipe.webp', 'missing.jpg']) {
      const read = await bytesOf({ path: join(folder, name) });
      expect(read, name).toMatchObject({ ok: false, reason: { code: 'unreadable-image' } });
    }
    const empty = await bytesOf({ path: join(folder, 'empty.jpg') });
    expect(empty.ok && !(await decodePicture(empty.value)).ok).toBe(true);
  });
});

type Answer = { ok: boolean; reason?: { code: string; message: string }; late?: boolean };
type Line = { name: string; seen: Answer; shown: Answer; ms: number };

/** Two pictures of the cap's size in memory at once, and the libraries; a bomb undone would be many times that. */
const MEMORY_MB = 900;

describe('the built measuring thread', () => {
  beforeAll(buildHost);

  it('survives the whole corpus in one go, quickly and within its memory', () => {
    const folder = temporaryFolder();
    const nameOf = (i: number): string => `${String(i).padStart(3, '0')}-${files[i].fileName}`;
    files.forEach(({ bytes }, i) => writeFileSync(join(folder, nameOf(i)), bytes));
    const script = fileURLToPath(new URL('./reader.mjs', import.meta.url));
    const ran = spawnSync(process.execPath, [script, workerFile, folder], {
      encoding: 'utf8',
      maxBuffer: 64e6,
      timeout: 240_000,
    });
    expect(ran.status, ran.stderr).toBe(0);
    const lines = ran.stdout
      .trim()
      .split('\n')
      .map((line) => JSON.parse(line) as unknown);
    const { largestMb, ended } = lines.pop() as { largestMb: number; ended: number };
    expect(lines).toHaveLength(files.length);
    (lines as Line[]).forEach(({ seen, shown, ms }, i) => {
      const { name, right } = files[i];
      expect([seen.late, shown.late], name).toEqual([undefined, undefined]);
      expect([seen.ok, shown.ok], name).toEqual([right !== null, right !== null]);
      expect(seen.reason === undefined ? [] : unfit(name, seen.reason), name).toEqual([]);
      expect(ms, name).toBeLessThan(30_000);
    });
    expect(ended).toBe(0);
    expect(largestMb).toBeLessThan(MEMORY_MB);
    process.stdout.write(`corpus: ${files.length} files, largest memory ${largestMb.toFixed(0)} MB\n`);
  }, 300_000);
});
