/** Single frames of a track, one after the other. Chromium, Chrome and Edge have it; the standard types do not yet. */
type Processor = { readonly readable: ReadableStream<VideoFrame> };
declare global {
  var MediaStreamTrackProcessor:
    (new (init: { track: MediaStreamTrack; maxBufferSize?: number }) => Processor) | undefined;
}

export const canReadFrames = (): boolean => globalThis.MediaStreamTrackProcessor !== undefined;

/** Calls `onFrame` with every frame until it is stopped or the track ends; `onFrame` must close or hand over each. */
export function pumpFrames(track: MediaStreamTrack, onFrame: (frame: VideoFrame) => void): () => void {
  const { MediaStreamTrackProcessor: Reader } = globalThis;
  if (Reader === undefined) return () => undefined;
  const reader = new Reader({ track, maxBufferSize: 1 }).readable.getReader();
  let stopped = false;
  const run = async (): Promise<void> => {
    for (;;) {
      const { done, value } = await reader.read();
      if (value !== undefined) {
        if (stopped) value.close();
        else onFrame(value);
      }
      if (done) return;
      // Not before: a frame that waits to be read would be thrown away without being closed.
      if (stopped) return reader.cancel();
    }
  };
  run().catch(() => undefined);
  return () => {
    stopped = true;
  };
}
