import { useEffect, useRef, type ReactNode } from 'react';
import { useStore } from 'zustand';
import { Refused } from '../ui/bits.tsx';
import type { Live } from './live.ts';
import { troubleSentence } from './machine.ts';

/** The live picture, or the frozen one, or the sentence that says why there is none. */
export function LiveStage({ live, children }: { readonly live: Live; readonly children?: ReactNode }) {
  const { state, stream } = useStore(live.store, (one) => one.session);
  const frozen = useStore(live.store, (one) => one.frozen);
  const { granted } = state;
  const size = frozen?.picture ?? { width: granted?.widthPx ?? 4, height: granted?.heightPx ?? 3 };
  return (
    <div className="live-stage">
      <div
        className="live-frame"
        style={{
          aspectRatio: `${size.width} / ${size.height}`,
          ['--ratio' as string]: size.width / size.height,
        }}
      >
        <LiveVideo stream={stream} />
        {frozen !== null && <FrozenPicture bitmap={frozen.bitmap} />}
        {state.at === 'live' && children}
        {frozen !== null && <p className="stage-which">frozen</p>}
      </div>
      {state.at === 'asking' && (
        <p className="live-notice" role="status">
          Waiting for the camera. The browser may be asking whether this page may use it: look at the top of
          the window.
        </p>
      )}
      {state.at === 'trouble' && <Trouble live={live} />}
    </div>
  );
}

function LiveVideo({ stream }: { readonly stream: MediaStream | null }) {
  const ref = useRef<HTMLVideoElement>(null);
  useEffect(() => {
    const video = ref.current;
    if (video === null) return;
    video.srcObject = stream;
    if (stream !== null) video.play().catch(() => undefined);
  }, [stream]);
  // Nothing is said in it, so there is nothing to caption.
  return (
    <video ref={ref} className="live-video" muted playsInline autoPlay aria-label="Live picture">
      <track kind="captions" />
    </video>
  );
}

function FrozenPicture({ bitmap }: { readonly bitmap: ImageBitmap }) {
  const ref = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    ref.current?.getContext('2d')?.drawImage(bitmap, 0, 0);
  }, [bitmap]);
  return (
    <canvas
      ref={ref}
      className="live-video"
      width={bitmap.width}
      height={bitmap.height}
      role="img"
      aria-label="Frozen picture"
    />
  );
}

function Trouble({ live }: { readonly live: Live }) {
  const state = useStore(live.store, (one) => one.session.state);
  const again = (): void => live.session.open(state.trouble === 'none' ? null : state.deviceId);
  return (
    <div className="live-notice">
      <Refused sentence={troubleSentence(state)}>
        <p className="actions">
          <button type="button" className="button" onClick={again}>
            {state.trouble === 'size-changed' ? 'Start the camera again' : 'Try again'}
          </button>
          {state.trouble === 'size-changed' && (
            <button type="button" className="button" onClick={() => live.session.acceptSize()}>
              Go on with the new size
            </button>
          )}
        </p>
      </Refused>
    </div>
  );
}
