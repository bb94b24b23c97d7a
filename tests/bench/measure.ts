import { spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/**
 * How the program's own commands call node, flags and all: `npm run bench` is called with the same flags (tested), hands
 * them on, and so times what people run.
 */
export const node = (script: string, ...args: string[]): [string, string[]] => [
  process.execPath,
  [...process.execArgv, script, ...args],
];

/** The project's folder; both from the sources and from the built dist/bench it is two levels up. */
export const root = fileURLToPath(new URL('../..', import.meta.url));

export function median(values: readonly number[]): number {
  const sorted = values.toSorted((a, b) => a - b);
  const middle = sorted.length / 2;
  return sorted.length % 2 === 1
    ? (sorted[Math.floor(middle)] ?? NaN)
    : ((sorted[middle - 1] ?? NaN) + (sorted[middle] ?? NaN)) / 2;
}

/** share 0..1, nearest rank */
export function quantile(values: readonly number[], share: number): number {
  const sorted = values.toSorted((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.max(0, Math.ceil(share * sorted.length) - 1))] ?? NaN;
}

/** Largest memory that a process has held so far, MB; null where the system does not tell (anything but Linux). */
export function peakMemoryMb(pid: number | 'self' = 'self'): number | null {
  return memoryLine(pid, 'VmHWM');
}
export const memoryMb = (pid: number | 'self' = 'self'): number | null => memoryLine(pid, 'VmRSS');

function memoryLine(pid: number | 'self', name: string): number | null {
  try {
    const line = new RegExp(`^${name}:\\s+(\\d+) kB`, 'm').exec(readFileSync(`/proc/${pid}/status`, 'utf8'));
    return line === null ? null : Number(line[1]) / 1024;
  } catch {
    return null;
  }
}

/** Processor time that a process has used so far, ms; null where the system does not tell. */
function processorMs(pid: number): number | null {
  try {
    // Fields 14 and 15, counted after the name in brackets: hundredths of a second in user and system mode.
    const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ').at(-1)!.split(' ');
    return (Number(fields[11]) + Number(fields[12])) * 10;
  } catch {
    return null;
  }
}

export type Ran = {
  readonly ms: number;
  /** Processor time of the process and its threads, ms, true to 20 ms: hardly moved by what else the machine does. */
  readonly cpuMs: number | null;
  /** Largest memory of the process itself, MB, looked at 50 times a second; null when the system does not tell. */
  readonly peakMb: number | null;
  readonly status: number | null;
  readonly out: string;
  readonly err: string;
};

/** One whole process from its start to its end. */
export function runProcess(program: string, args: string[], env: NodeJS.ProcessEnv = {}): Promise<Ran> {
  const started = performance.now();
  const child = spawn(program, args, {
    cwd: root,
    env: { ...process.env, ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let out = '';
  let err = '';
  child.stdout.on('data', (chunk: Buffer) => (out += chunk.toString()));
  child.stderr.on('data', (chunk: Buffer) => (err += chunk.toString()));
  let peakMb: number | null = null;
  let cpuMs: number | null = null;
  const watch = setInterval(() => {
    if (child.pid === undefined) return;
    peakMb = peakMemoryMb(child.pid) ?? peakMb;
    cpuMs = processorMs(child.pid) ?? cpuMs;
  }, 20);
  return new Promise((resolve, reject) => {
    child.once('error', (error) => {
      clearInterval(watch);
      reject(error);
    });
    child.once('close', (status) => {
      clearInterval(watch);
      resolve({ ms: performance.now() - started, cpuMs, peakMb, status, out, err });
    });
  });
}

/** A task of child.ts in a process of its own, which prints one line of JSON at the end. */
export async function runChild(
  task: string,
  options: unknown,
): Promise<{ value: unknown; peakMb: number | null }> {
  const script = fileURLToPath(new URL('./child.js', import.meta.url));
  const ran = await runProcess(...node(script, task, JSON.stringify(options)));
  if (ran.status !== 0) throw new Error(`bench: ${task} ended with ${ran.status}\n${ran.err.slice(-2000)}`);
  return { value: JSON.parse(ran.out.trim().split('\n').at(-1) ?? ''), peakMb: ran.peakMb };
}
