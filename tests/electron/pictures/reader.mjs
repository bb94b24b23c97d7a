// The built measuring thread on every file of a folder, in a process of its own, so that its memory can be measured:
// reader.mjs <thread> <folder>. One line of JSON per file, then one with the largest memory and what happened to threads.
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { Worker } from 'node:worker_threads';

const [thread, folder] = process.argv.slice(2);
const say = (value) => process.stdout.write(`${JSON.stringify(value)}\n`);
const worker = start();
let ended = 0;

function start() {
  const made = new Worker(thread, { workerData: { cancelFlag: new SharedArrayBuffer(4) } });
  made.on('exit', () => ended++);
  return made;
}

let number = 0;
const ask = (kind, input) =>
  new Promise((done) => {
    const mine = ++number;
    const late = setTimeout(() => done({ late: true }), 60_000);
    const hear = (message) => {
      if (message.number !== mine || message.type !== 'done') return;
      clearTimeout(late);
      worker.off('message', hear);
      done(message.output);
    };
    worker.on('message', hear);
    worker.postMessage({ number: mine, kind, input }, []);
  });

for (const name of readdirSync(folder).toSorted()) {
  const source = { path: join(folder, name) };
  const started = performance.now();
  const seen = await ask('inspect', { source, fileName: name });
  const shown = await ask('show', { source, maxEdgePx: 256 });
  if (shown.ok) shown.value = { widthPx: shown.value.widthPx, heightPx: shown.value.heightPx };
  say({ name, seen, shown, ms: performance.now() - started });
}
say({ largestMb: process.resourceUsage().maxRSS / 1024, ended });
await worker.terminate();
