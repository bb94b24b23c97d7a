import { useEffect, useState } from 'react';
import type * as AllLater from './later.tsx';
import { Refused } from './ui/bits.tsx';

/**
 * What is not needed for the shelf and a stylus' page is two thirds of the window's script. It is read a moment after
 * the first screen stands, or when it is asked for; from then on it is there at once.
 */
type Later = Pick<typeof AllLater, 'OtherScreen' | 'OtherDialog' | 'RecoveryScreen' | 'CopyBanner'>;

let loaded: Later | null = null;
let loading: Promise<Later> | null = null;

function loadLater(): Promise<Later> {
  loading ??= import('./later.tsx').then(
    (parts) => (loaded = parts),
    () => {
      // Asked again the next time: the server may have been away for a moment.
      loading = null;
      return NOT_LOADED;
    },
  );
  return loading;
}

function NotLoaded() {
  return (
    <div className="screen">
      <Refused sentence="This part of the window could not be read. The program may have ended or been renewed meanwhile; what was saved is safe.">
        <p>
          <button type="button" className="button" onClick={() => location.reload()}>
            Read the window again
          </button>
        </p>
      </Refused>
    </div>
  );
}
const NOT_LOADED: Later = {
  OtherScreen: NotLoaded,
  OtherDialog: NotLoaded,
  RecoveryScreen: NotLoaded,
  CopyBanner: NotLoaded,
};

/** Null until it is there. */
export function useLater(): Later | null {
  const [parts, setParts] = useState(loaded);
  useEffect(() => {
    if (parts === null) void loadLater().then(setParts);
  }, [parts]);
  return parts;
}

/** After the first screen and what somebody opens from it at once. */
const AFTER_MS = 2500;

export function useLaterBefore(): void {
  useEffect(() => {
    const timer = setTimeout(() => void loadLater(), AFTER_MS);
    return () => clearTimeout(timer);
  }, []);
}
