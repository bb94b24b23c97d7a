import { afterEach, expect, it } from 'vitest';
import { pumpFrames } from '../../../renderer/camera/pump.ts';

/** Hands out a frame when the test says so, on demand only, as the browser's own processor does. */
class FakeProcessor {
  static last: FakeProcessor;
  cancelled = false;
  private give: (frame: VideoFrame) => void = () => undefined;
  readonly readable: ReadableStream<VideoFrame>;
  constructor() {
    FakeProcessor.last = this;
    this.readable = new ReadableStream<VideoFrame>(
      {
        pull: (controller) =>
          new Promise<void>((resolve) => {
            this.give = (frame) => {
              if (!this.cancelled) controller.enqueue(frame);
              resolve();
            };
          }),
        cancel: () => {
          this.cancelled = true;
        },
      },
      { highWaterMark: 0 },
    );
  }
  frame(): { closed: boolean } {
    const frame = {
      closed: false,
      close() {
        this.closed = true;
      },
    };
    this.give(frame as unknown as VideoFrame);
    return frame;
  }
}

const settle = (): Promise<void> => new Promise((resolve) => setTimeout(resolve));
const before = globalThis.MediaStreamTrackProcessor;
afterEach(() => {
  globalThis.MediaStreamTrackProcessor = before;
});

it('hands frames on, and closes the one that was on its way when it was stopped', async () => {
  globalThis.MediaStreamTrackProcessor = FakeProcessor;
  const heard: VideoFrame[] = [];
  const stop = pumpFrames({} as MediaStreamTrack, (frame) => heard.push(frame));
  const { last } = FakeProcessor;
  await settle();
  const first = last.frame();
  await settle();
  expect(heard).toEqual([first]);
  expect(first.closed).toBe(false);
  stop();
  const late = last.frame();
  await settle();
  expect(late.closed).toBe(true);
  expect(heard).toHaveLength(1);
  expect(last.cancelled).toBe(true);
});
