import { appendFileSync } from 'node:fs';

/**
 * Says openly that something could not be tested on this machine: on the console at once, and at the end of
 * `npm test`, which names the file. A skipped test without such a line is listed there by its name alone.
 */
export function notRun(what: string, why: string): void {
  const line = `${what}: ${why}`;
  console.warn(`Did not run - ${line}`);
  const file = process.env['DAYBOOK_NOT_RUN'];
  if (file) appendFileSync(file, `${line}\n`);
}
