import { ensureBuild } from './build.mjs';

/** `npm start`: builds what is stale, then opens the program in Electron or in a browser window, and says which. */
try {
  await ensureBuild();
  const { launch } = await import(new URL('../dist/host/launch.js', import.meta.url).href);
  process.exitCode = await launch();
} catch (error) {
  process.stderr.write(
    `Stylus Daybook did not start: ${error instanceof Error ? error.message : String(error)}\n`,
  );
  process.exitCode = 1;
}
