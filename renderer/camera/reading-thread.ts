import type { FromReader, ToReader } from './protocol.ts';

/** What a worker must offer; a test can be one. */
export type Thread = Pick<Worker, 'postMessage' | 'terminate' | 'addEventListener'>;

/** A frame is turned within a tenth of a second; a merge may hold its thread for longer, and is not waited for. */
const LONGEST_LEAVE_MS = 3000;

export type ReadingThread = {
  /** Passes a message on; one that comes before the thread is started waits for it. */
  readonly send: (message: ToReader, handOver?: Transferable[]) => void;
  /** Hands a frame over, or closes it while the thread still holds the last one. */
  readonly frame: (frame: VideoFrame) => void;
  readonly start: () => void;
  /** Nothing is heard of it any more; it ends as soon as it has given its frame back. */
  readonly end: () => void;
};

/**
 * The thread that looks at frames, as the page holds it: one frame at a time, and never ended while it holds one. A
 * frame that dies with its thread is only given back to the camera by the browser's garbage collection, and a camera
 * that waits for its frames stalls.
 */
export function createReadingThread(
  make: () => Thread,
  hear: (message: Exclude<FromReader, { type: 'ready' }>) => void,
  brokeDown: () => void,
): ReadingThread {
  let thread: Thread | null = null;
  let early: [ToReader, Transferable[]][] = [];
  let holds = 0;
  let leave: (() => void) | null = null;

  const send = (message: ToReader, handOver: Transferable[] = []): void => {
    if (thread === null) early.push([message, handOver]);
    else thread.postMessage(message, handOver);
  };

  return {
    send,
    frame(frame) {
      if (holds > 0 || thread === null) return frame.close();
      holds++;
      send({ type: 'frame', frame }, [frame]);
    },
    start() {
      const mine = make();
      thread = mine;
      mine.addEventListener('message', (event) => {
        const { data } = event as MessageEvent<FromReader>;
        if (data.type === 'ready') {
          holds--;
          leave?.();
        } else if (thread === mine) hear(data);
      });
      mine.addEventListener('error', () => {
        if (thread === mine) brokeDown();
      });
      for (const [message, handOver] of early) mine.postMessage(message, handOver);
      early = [];
    },
    end() {
      const going = thread;
      if (going === null) return;
      thread = null;
      if (holds === 0) return going.terminate();
      const late = setTimeout(() => leave?.(), LONGEST_LEAVE_MS);
      leave = () => {
        clearTimeout(late);
        leave = null;
        going.terminate();
      };
    },
  };
}
