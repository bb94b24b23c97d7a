import { ensureBuild } from './build.mjs';

/** `npm run --silent daybook -- …`: makes a missing or stale build without a word, then runs it in this process. */
try {
  await ensureBuild({ parts: ['host'], silent: true });
  const { runDaybook } = await import(new URL('../dist/host/daybook.js', import.meta.url).href);
  process.exitCode = await runDaybook(process.argv.slice(2));
} catch (error) {
  process.stderr.write(`daybook: ${error instanceof Error ? error.message : String(error)}\n`);
  process.exitCode = 2;
}
