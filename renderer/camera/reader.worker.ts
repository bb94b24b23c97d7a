import { greyOfRgba } from '../../core/live/planes.ts';
import { createCollection, singleFrame, type Collection, type Frame } from './collecting.ts';
import { createPlaneSeries, type PlaneSeries } from './planes.ts';
import type { FromReader, ToReader } from './protocol.ts';
import { baselineOutline, poseSourceOf, readFrame } from './reading.ts';
import type { PoseSource } from '../../core/live/pose.ts';

/**
 * The thread that looks at every frame, so that the page itself never waits for pixels. It holds one frame at a time:
 * the page sends the next one only after 'ready', and what comes in between was given back by the page.
 */
const post = (message: FromReader, handOver: Transferable[] = []): void =>
  // The two-argument form of a worker's own postMessage; the types here are a page's.
  (postMessage as (message: unknown, handOver: Transferable[]) => void)(message, handOver);

let bytes = new Uint8Array(0);
let greys = new Float32Array(0);
let canvas: OffscreenCanvas | null = null;
let last: Frame | null = null;
let collection: Collection | null = null;
let series: PlaneSeries | null = null;
let baseline: PoseSource | null = null;
let umPerPx: number | null = null;
let lastRead = -Infinity;

/** Ten readings a second are more than an eye follows; the rest of the time is left to the machine. */
const READ_EVERY_MS = 90;
const now = (): number => performance.now();

/** RGBA of a frame; by way of a canvas where the browser cannot convert it directly. */
async function rgbaOf(frame: VideoFrame): Promise<Frame> {
  const width = frame.displayWidth;
  const height = frame.displayHeight;
  const length = 4 * width * height;
  if (bytes.length !== length) bytes = new Uint8Array(length);
  const direct =
    frame.visibleRect?.width === width &&
    frame.visibleRect.height === height &&
    (await frame.copyTo(bytes, { format: 'RGBA' }).then(
      () => true,
      () => false,
    ));
  if (!direct) {
    if (canvas?.width !== width || canvas.height !== height) canvas = new OffscreenCanvas(width, height);
    const context = canvas.getContext('2d', { willReadFrequently: true });
    if (context === null) throw new Error('no canvas in the reading thread');
    context.drawImage(frame, 0, 0, width, height);
    bytes.set(context.getImageData(0, 0, width, height).data);
  }
  if (greys.length !== width * height) greys = new Float32Array(width * height);
  return { width, height, rgba: bytes, grey: greyOfRgba(bytes, width, height, greys) };
}

function collect(frame: Frame): void {
  if (collection === null) return;
  const result = collection.add(frame);
  if (result.at === 'going') return post({ type: 'collecting', counts: result.counts });
  collection = null;
  if (result.at === 'failed') return post({ type: 'collect-failed', why: result.why });
  const { picture, mean } = result;
  post({ type: 'collected', picture, mean }, [picture.data.buffer]);
}

async function look(video: VideoFrame): Promise<void> {
  // Turning a frame into grey values costs as much as reading it, so frames that nobody wants are not turned.
  if (collection === null && series === null && now() - lastRead < READ_EVERY_MS) return video.close();
  try {
    last = await rgbaOf(video);
  } finally {
    video.close();
  }
  if (collection !== null) return collect(last);
  if (series !== null) addPlane(series, last);
  if (now() - lastRead < READ_EVERY_MS) return;
  lastRead = now();
  post({ type: 'reading', reading: readFrame(last, baseline, umPerPx, now) });
}

function addPlane(going: PlaneSeries, frame: Frame): void {
  const result = going.add(frame);
  if (typeof result === 'object') return post({ type: 'series', counts: result });
  series = null;
  post({ type: 'collect-failed', why: result });
}

function merge(number: number): void {
  const done = series;
  series = null;
  const result = done?.merge((fraction) => post({ type: 'merging', number, fraction })) ?? 'one-plane';
  if (typeof result !== 'object') return post({ type: 'collect-failed', why: result });
  const buffers = [result.picture, ...result.parts].map((one) => one.data.buffer);
  post({ type: 'merged', number, merged: result }, buffers);
}

function setBaseline(bitmap: ImageBitmap | null, scale: number | null): void {
  baseline = null;
  if (bitmap === null) return;
  const { width, height } = bitmap;
  const context = new OffscreenCanvas(width, height).getContext('2d');
  context?.drawImage(bitmap, 0, 0);
  bitmap.close();
  const rgba = context?.getImageData(0, 0, width, height).data;
  if (rgba === undefined) return;
  baseline = poseSourceOf({ width, height, grey: greyOfRgba(rgba, width, height) }, scale);
  post({ type: 'baseline-read', baseline: baseline === null ? null : baselineOutline(baseline) });
}

async function freeze(): Promise<void> {
  if (last === null) return;
  const { width, height, rgba } = last;
  const picture = singleFrame(last);
  const bitmap = await createImageBitmap(new ImageData(new Uint8ClampedArray(rgba), width, height));
  post({ type: 'frozen', picture, bitmap }, [bitmap, picture.data.buffer]);
}

async function hear(message: ToReader): Promise<void> {
  switch (message.type) {
    case 'frame':
      try {
        await look(message.frame);
      } finally {
        post({ type: 'ready' });
      }
      return;
    case 'collect':
      collection = createCollection(message.wanted);
      return;
    case 'series':
      series = createPlaneSeries();
      return;
    case 'merge':
      merge(message.number);
      return;
    case 'drop':
      collection = null;
      series = null;
      return;
    case 'baseline':
      setBaseline(message.bitmap, message.umPerPx);
      return;
    case 'scale':
      umPerPx = message.umPerPx;
      return;
    case 'freeze':
      await freeze();
      break;
  }
}

addEventListener('message', (event: MessageEvent<ToReader>) => {
  hear(event.data).catch((error: unknown) => {
    console.error(error);
    collection = null;
    series = null;
    post({ type: 'broke-down' });
  });
});
