import { existsSync } from 'node:fs';

/**
 * `npm run --silent daybook -- …`: makes a missing or stale build without a word, then runs it in this process. The build
 * that is there is nearly always the right one, so its measuring thread starts before that is looked at; whether it is
 * costs 40 ms, and nothing is measured before it is known.
 */
const command = new URL('../dist/host/daybook.js', import.meta.url);
const args = process.argv.slice(2);

async function startAhead() {
  try {
    if (existsSync(command)) return (await import(command.href)).startAhead(args);
  } catch {
    // An older build, or a broken one: it is made again.
  }
  return undefined;
}

try {
  let ahead = await startAhead();
  const { ensureBuild } = await import('./build.mjs');
  const made = await ensureBuild({ parts: ['host'], silent: true });
  if (made.length > 0) {
    await ahead?.end();
    ahead = undefined;
  }
  // Under another name, for the older build of that name is loaded already.
  const { runDaybook } = await import(made.length > 0 ? `${command.href}?made` : command.href);
  process.exitCode = await runDaybook(args, ahead);
} catch (error) {
  process.stderr.write(`daybook: ${error instanceof Error ? error.message : String(error)}\n`);
  process.exitCode = 2;
}
