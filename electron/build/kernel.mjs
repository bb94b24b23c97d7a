// `npm run kernel`: compiles core/tip/kernel/assembly and keeps the result in bytes.ts beside it, which is what the program loads. A test
// compiles it again and compares.
import { writeFileSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import asc from 'assemblyscript/asc';

const here = join(dirname(fileURLToPath(import.meta.url)), '..', '..', 'core', 'tip', 'kernel');

/** The compiled code, in base64. */
export async function compile() {
  const folder = mkdtempSync(join(tmpdir(), 'daybook-kernel-'));
  try {
    const out = join(folder, 'band.wasm');
    const { error } = await asc.main([
      join(here, 'assembly', 'index.ts'),
      `--outFile=${out}`,
      '-O3',
      '--converge',
      '--noAssert',
      '--runtime=stub',
      '--enable=simd',
      '--use=abort=',
    ]);
    if (error) throw new Error(`kernel: ${error.message}`);
    return readFileSync(out).toString('base64');
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** The text of bytes.ts for the compiled code. */
export function sourceOf(base64) {
  const lines = base64.match(/.{1,100}/g) ?? [];
  const text = lines.map((line) => `  '${line}',`).join('\n');
  return `/** Made by \`npm run kernel\` from assembly/; base64. */\nexport const BYTES = [\n${text}\n].join('');\n`;
}

if (process.argv[1] === fileURLToPath(import.meta.url))
  writeFileSync(join(here, 'bytes.ts'), sourceOf(await compile()));
