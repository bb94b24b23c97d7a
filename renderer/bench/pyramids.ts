import { buildPyramid, type Pyramid, type PyramidJob } from './pyramid.ts';

/** The one worker that makes pictures ready; where none can be started the page does it itself. */
type Answer = { readonly number: number; readonly pyramid: Pyramid | null };

let worker: Worker | null = null;
let broken = false;
let counter = 0;
const waiting = new Map<number, { job: PyramidJob; settle: (pyramid: Promise<Pyramid>) => void }>();

function started(): Worker | null {
  if (broken || typeof Worker === 'undefined') return null;
  if (worker !== null) return worker;
  worker = new Worker(new URL('./pyramid-worker.ts', import.meta.url), { type: 'module' });
  worker.addEventListener('message', ({ data }: MessageEvent<Answer>) => {
    const asked = waiting.get(data.number);
    waiting.delete(data.number);
    asked?.settle(
      data.pyramid === null
        ? Promise.reject(new Error('the picture cannot be decoded'))
        : Promise.resolve(data.pyramid),
    );
  });
  worker.addEventListener('error', () => {
    broken = true;
    for (const { job, settle } of waiting.values()) settle(buildPyramid(job));
    waiting.clear();
  });
  return worker;
}

export function makePyramid(job: PyramidJob): Promise<Pyramid> {
  const helper = started();
  if (helper === null) return buildPyramid(job);
  return new Promise((resolve) => {
    const number = ++counter;
    waiting.set(number, { job, settle: resolve });
    helper.postMessage({ number, ...job }, []);
  });
}
