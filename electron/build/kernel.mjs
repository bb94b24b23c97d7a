// `npm run kernel`: compiles every kernel's assembly/ and keeps the result in bytes.ts beside it, which is what the program loads. A test
// compiles them again and compares.
import { writeFileSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import asc from 'assemblyscript/asc';

const core = join(dirname(fileURLToPath(import.meta.url)), '..', '..', 'core');

export const KERNELS = ['tip/kernel', 'cv/kernel'];

/** The compiled code of one of them, in base64. */
export async function compile(kernel) {
  const folder = mkdtempSync(join(tmpdir(), 'daybook-kernel-'));
  try {
    const out = join(folder, 'kernel.wasm');
    const { error } = await asc.main([
      join(core, kernel, 'assembly', 'index.ts'),
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
  for (const kernel of KERNELS)
    writeFileSync(join(core, kernel, 'bytes.ts'), sourceOf(await compile(kernel)));
