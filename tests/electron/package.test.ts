import { spawnSync } from 'node:child_process';
import {
  closeSync,
  cpSync,
  existsSync,
  mkdirSync,
  openSync,
  readFileSync,
  readSync,
  writeFileSync,
} from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { describe, expect, it, onTestFinished } from 'vitest';
import { notRun } from '../not-run.ts';
import { createEngine } from '../../electron/host/engine.ts';
import { picture, root, temporaryFolder } from './support.ts';

/**
 * The packing configuration, proved on a stub that stands in for Electron's program files: what is inside, what is not,
 * which fuses are set, and that the host in there works with nothing but what is in there. It cannot be started.
 */
type Entry = { files?: Record<string, Entry>; size?: number; offset?: string; unpacked?: boolean };

/** The archive's own format: two pickled numbers, the list of files as JSON, then their contents. */
function readAsar(file: string): { entries: Map<string, Entry>; contentsAt: number } {
  const handle = openSync(file, 'r');
  const head = Buffer.alloc(16);
  readSync(handle, head, 0, 16, 0);
  const json = Buffer.alloc(head.readUInt32LE(12));
  readSync(handle, json, 0, json.length, 16);
  closeSync(handle);
  const entries = new Map<string, Entry>();
  const walk = (entry: Entry, path: string): void => {
    if (entry.files === undefined) entries.set(path, entry);
    for (const [name, inner] of Object.entries(entry.files ?? {}))
      walk(inner, path === '' ? name : `${path}/${name}`);
  };
  walk(JSON.parse(json.toString()) as Entry, '');
  return { entries, contentsAt: 8 + head.readUInt32LE(4) };
}

function unpack(resources: string, target: string): void {
  const file = join(resources, 'app.asar');
  const { entries, contentsAt } = readAsar(file);
  const all = readFileSync(file);
  for (const [path, { size = 0, offset, unpacked }] of entries) {
    const to = join(target, path);
    mkdirSync(dirname(to), { recursive: true });
    if (unpacked) cpSync(join(`${file}.unpacked`, path), to);
    else writeFileSync(to, all.subarray(contentsAt + Number(offset), contentsAt + Number(offset) + size));
  }
}

/** Electron's own list of fuses, in its order; "1" on, "0" off (from the documentation of @electron/fuses). */
const FUSES = [
  ['runAsNode', '0'],
  ['enableCookieEncryption', '1'],
  ['enableNodeOptionsEnvironmentVariable', '0'],
  ['enableNodeCliInspectArguments', '0'],
  ['enableEmbeddedAsarIntegrityValidation', '1'],
  ['onlyLoadAppFromAsar', '1'],
  ['loadBrowserProcessSpecificV8Snapshot', '0'],
  ['grantFileProtocolExtraPrivileges', '0'],
] as const;
const MARK = 'dL7pKGdnNz796PbbjQWNKmHXBZaB9tsX';

function hasElectron(): boolean {
  const folder = dirname(createRequire(import.meta.url).resolve('electron/package.json'));
  return existsSync(join(folder, 'path.txt'));
}

describe.runIf(process.platform === 'linux')('the package', () => {
  it('holds the program and nothing of another system, with every fuse set, and its host works', async () => {
    const output = join(temporaryFolder(), 'out');
    const ran = spawnSync(
      process.execPath,
      [join(root, 'electron', 'package.mjs'), '--stub', '--silent', `--output=${output}`],
      { encoding: 'utf8', timeout: 240_000 },
    );
    expect(ran.status, ran.stdout + ran.stderr).toBe(0);
    const folder = join(output, process.arch === 'x64' ? 'linux-unpacked' : `linux-${process.arch}-unpacked`);
    const resources = join(folder, 'resources');
    const { entries } = readAsar(join(resources, 'app.asar'));
    const paths = [...entries.keys()];

    for (const wanted of [
      'package.json',
      'dist/host/main.js',
      'dist/host/preload.cjs',
      'dist/host/engine-worker.js',
      'dist/renderer/index.html',
      'dist/demo/demo.json',
      'node_modules/opencv-wasm/opencv.wasm',
    ])
      expect(paths).toContain(wanted);
    // No sources, tests, other systems' parts, tools, or packages that are inside the bundles already.
    const strange = paths.filter(
      (path) =>
        !/^(package\.json|LICENSE|dist\/(host|renderer|demo)\/|node_modules\/)/.test(path) ||
        /\.(ts|tsx|map|c|cc|cpp|h)$/.test(path) ||
        /prebuilds\/(?!linux-)/.test(path) ||
        /^node_modules\/(react|zod|exifr|vite|electron|vitest|playwright)/.test(path) ||
        /^dist\/host\/(launch|server|daybook)\.js$/.test(path),
    );
    expect(strange).toEqual([]);
    // What the system loads must be a file of its own.
    const loaded = [...entries].filter(([path]) => /\.node$|\.so(\.|$)/.test(path));
    expect(loaded.length).toBeGreaterThanOrEqual(3);
    expect(loaded.filter(([, entry]) => !entry.unpacked)).toEqual([]);

    const program = readFileSync(join(folder, 'stylus-daybook'));
    const at = program.indexOf(MARK) + MARK.length;
    expect(program[at]).toBe(1);
    const wire = program.subarray(at + 2, at + 2 + FUSES.length).toString('latin1');
    expect(FUSES.map(([name], i) => [name, wire[i]])).toEqual(FUSES.map((fuse) => [...fuse]));
    expect(readFileSync(join(folder, 'THIRD-PARTY.txt'), 'utf8')).toContain('sharp ');

    // Far from the project's own node_modules: the measuring thread of the package decodes a picture.
    const apart = temporaryFolder();
    unpack(resources, apart);
    const engine = createEngine({ workerFile: join(apart, 'dist', 'host', 'engine-worker.js'), threads: 1 });
    onTestFinished(() => engine.close());
    const shown = await engine.run(
      'show',
      { source: { bytes: await picture(60) }, maxEdgePx: 16 },
      { timeLimitMs: 60_000 },
    );
    expect(shown).toMatchObject({ ok: true, value: { widthPx: 16, heightPx: 12 } });
    if (!hasElectron())
      notRun('the packed program itself', 'Electron’s program files are not here; a stub was packed');
    notRun('installers, and packing for Windows and macOS', 'each is packed on its own system');
  }, 300_000);
});
