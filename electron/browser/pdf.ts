import { spawn } from 'node:child_process';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { Refusal } from '../../shared/index.ts';
import type { PdfPrinter } from '../host/context.ts';
import { quietSwitches } from './find.ts';

const LIMIT_MS = 60_000;

const failed = (detail: string): Refusal =>
  new Refusal('print-failed', `The browser did not make the PDF (${detail}). Try again.`);

function run(browser: string, args: string[]): Promise<void> {
  return new Promise((done, fail) => {
    const child = spawn(browser, args, { stdio: 'ignore' });
    const limit = setTimeout(() => {
      child.kill('SIGKILL');
      fail(failed('it took too long'));
    }, LIMIT_MS);
    child.once('error', (error) => fail(failed(error.message)));
    child.once('exit', (code) => {
      clearTimeout(limit);
      if (code === 0) done();
      else fail(failed(`it ended with ${code}`));
    });
  });
}

/** Prints with an installed browser, without a window; the paper's size stands in the document's own @page rule. */
export function browserPdfPrinter(browser: string): PdfPrinter {
  return async (html) => {
    const folder = await mkdtemp(join(tmpdir(), 'daybook-print-'));
    try {
      const page = join(folder, 'sheet.html');
      const pdf = join(folder, 'sheet.pdf');
      await writeFile(page, html, { mode: 0o600 });
      await run(browser, [
        ...quietSwitches(join(folder, 'profile')),
        '--headless',
        '--disable-gpu',
        '--no-pdf-header-footer',
        `--print-to-pdf=${pdf}`,
        pathToFileURL(page).href,
      ]);
      return new Uint8Array(await readFile(pdf));
    } finally {
      await rm(folder, { recursive: true, force: true, maxRetries: 5 });
    }
  };
}
