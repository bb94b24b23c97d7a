import { spawnSync } from 'node:child_process';

/**
 * Debian's own interpreter: another one in the path may have none of these packages, or other versions. Prints why a
 * check is not run; a check that is left out is never silent.
 */
const INTERPRETER = '/usr/bin/python3';

/** Runs a script that prints one JSON document; null (and a line on the console) when a module is not installed. */
export function askPython(what: string, modules: readonly string[], script: string): unknown {
  const probe = spawnSync(INTERPRETER, ['-c', modules.map((m) => `import ${m}`).join('\n')], {
    encoding: 'utf8',
  });
  if (probe.error || probe.status !== 0) {
    const why = probe.error ? `${INTERPRETER} is not there` : `one of ${modules.join(', ')} is not installed`;
    console.warn(`not run: ${what} (${why})`);
    return null;
  }
  const result = spawnSync(INTERPRETER, ['-c', script], { encoding: 'utf8', maxBuffer: 64 * 1024 * 1024 });
  if (result.status !== 0) throw new Error(`${what}: the reference failed\n${result.stderr}`);
  return JSON.parse(result.stdout);
}
