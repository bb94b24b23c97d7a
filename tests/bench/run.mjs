// `npm run bench [-- names]`: times the program, prints the table, keeps tests/bench/last.json and last.md.
// --keep-last leaves those two alone; --quick times fewer pairs fewer times and leaves them alone too.
import { createHash } from 'node:crypto';
import { readFileSync, readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'vite';
import { ensureBuild } from '../../electron/build.mjs';

const here = dirname(fileURLToPath(import.meta.url));
const root = join(here, '..', '..');

/** New sources of the renderer, new pictures. */
function picturesName() {
  const hash = createHash('sha256').update(readFileSync(join(here, 'pictures.ts')));
  const folder = join(root, 'fixtures', 'render');
  const files = readdirSync(folder, { recursive: true, withFileTypes: true }).filter((one) => one.isFile());
  for (const path of files.map((one) => join(one.parentPath ?? one.path, one.name)).toSorted())
    hash.update(readFileSync(path));
  return hash.digest('hex').slice(0, 12);
}

await ensureBuild();
await build({
  root,
  logLevel: 'error',
  configFile: false,
  build: {
    ssr: true,
    outDir: 'dist/bench',
    emptyOutDir: true,
    target: 'node20',
    rolldownOptions: {
      input: { bench: join(here, 'bench.ts'), child: join(here, 'child.ts') },
      // Beside the entries, so that import.meta.url names the same folder in every file.
      output: { entryFileNames: '[name].js', chunkFileNames: 'chunk-[name]-[hash].js' },
    },
  },
});
const { bench } = await import(join(root, 'dist/bench/bench.js'));
process.exitCode = await bench(process.argv.slice(2), join(root, 'dist', `bench-pictures-${picturesName()}`));
