import { afterEach, expect, it, vi } from 'vitest';
import { createReadingThread, type ReadingThread } from '../../../renderer/camera/reading-thread.ts';
import type { FromReader } from '../../../renderer/camera/protocol.ts';

/** A thread of the test's own: it keeps what it is sent and answers when the test says so. */
class FakeThread extends EventTarget {
  readonly sent: unknown[] = [];
  ended = 0;
  postMessage(message: unknown): void {
    this.sent.push(message);
  }
  terminate(): void {
    this.ended++;
  }
  say(data: FromReader): void {
    this.dispatchEvent(new MessageEvent('message', { data }));
  }
}

function started(): { fake: FakeThread; thread: ReadingThread; heard: FromReader[]; broke: () => number } {
  const fake = new FakeThread();
  const heard: FromReader[] = [];
  let broken = 0;
  const thread = createReadingThread(
    () => fake,
    (message) => heard.push(message),
    () => broken++,
  );
  return { fake, thread, heard, broke: () => broken };
}
const frame = (): { frame: VideoFrame; closed: () => number } => {
  let closed = 0;
  return { frame: { close: () => closed++ } as unknown as VideoFrame, closed: () => closed };
};

afterEach(() => vi.useRealTimers());

it('sends one frame at a time and gives the others back', () => {
  const { fake, thread } = started();
  thread.start();
  const [first, second, third] = [frame(), frame(), frame()];
  thread.frame(first.frame);
  thread.frame(second.frame);
  fake.say({ type: 'ready' });
  thread.frame(third.frame);
  expect(fake.sent).toEqual([
    { type: 'frame', frame: first.frame },
    { type: 'frame', frame: third.frame },
  ]);
  expect([first, second, third].map((one) => one.closed())).toEqual([0, 1, 0]);
});

it('passes on what was said before the thread began, and gives back frames that come before it or after it', () => {
  const { fake, thread } = started();
  const [before, after] = [frame(), frame()];
  thread.send({ type: 'scale', umPerPx: 1 });
  thread.frame(before.frame);
  thread.start();
  expect(fake.sent).toEqual([{ type: 'scale', umPerPx: 1 }]);
  thread.end();
  thread.frame(after.frame);
  expect([before.closed(), after.closed(), fake.ended]).toEqual([1, 1, 1]);
});

it('is not ended while it holds a frame, and is heard no more', () => {
  const { fake, thread, heard, broke } = started();
  thread.start();
  thread.frame(frame().frame);
  thread.end();
  expect(fake.ended).toBe(0);
  fake.say({ type: 'collect-failed', why: 'moved' });
  fake.dispatchEvent(new Event('error'));
  fake.say({ type: 'ready' });
  expect([fake.ended, heard.length, broke()]).toEqual([1, 0, 0]);
});

it('is ended after three seconds at the latest, once', () => {
  vi.useFakeTimers();
  const { fake, thread } = started();
  thread.start();
  thread.frame(frame().frame);
  thread.end();
  vi.advanceTimersByTime(2999);
  expect(fake.ended).toBe(0);
  vi.advanceTimersByTime(1);
  fake.say({ type: 'ready' });
  expect(fake.ended).toBe(1);
});
