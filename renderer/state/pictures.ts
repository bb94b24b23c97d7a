import { useEffect, useState } from 'react';
import type { HostClient } from '../../shared/index.ts';
import { useModel } from './use.ts';

/** Pictures as the host hands them over, kept by capture and size while the window is open. Originals never change. */
export type LoadedPicture = {
  readonly blob: Blob;
  readonly url: string;
  readonly widthPx: number;
  readonly heightPx: number;
};

const KEPT = 200;
const kept = new Map<string, Promise<LoadedPicture>>();

export function loadPicture(host: HostClient, id: string, maxEdgePx: number): Promise<LoadedPicture> {
  const key = `${id}/${maxEdgePx}`;
  const found = kept.get(key);
  if (found) {
    kept.delete(key);
    kept.set(key, found);
    return found;
  }
  const loading = inTurn(() => host.call('capture.picture', { id, maxEdgePx })).then((picture) => {
    const blob = new Blob([picture.bytes], { type: picture.mediaType });
    return { blob, url: URL.createObjectURL(blob), widthPx: picture.widthPx, heightPx: picture.heightPx };
  });
  kept.set(key, loading);
  loading.catch(() => kept.delete(key));
  forgetOldest();
  return loading;
}

/**
 * A browser opens six connections to one host. Pictures take half of them, so that a page's own questions never queue
 * behind hundreds of pictures; of those waiting the newest comes first, for it belongs to what is on the screen now.
 */
const MOST_AT_ONCE = 3;
let running = 0;
const waiting: (() => void)[] = [];

function inTurn<T>(ask: () => Promise<T>): Promise<T> {
  return new Promise((resolve, reject) => {
    const start = (): void => {
      running++;
      ask()
        .then(resolve, reject)
        .finally(() => {
          running--;
          waiting.pop()?.();
        });
    };
    if (running < MOST_AT_ONCE) start();
    else waiting.push(start);
  });
}

function forgetOldest(): void {
  if (kept.size <= KEPT) return;
  const [oldest] = kept.keys();
  const gone = kept.get(oldest);
  kept.delete(oldest);
  gone?.then((picture) => URL.revokeObjectURL(picture.url)).catch(() => undefined);
}

export type PictureState = { readonly picture: LoadedPicture | null; readonly failed: boolean };

export function usePicture(id: string | null, maxEdgePx: number): PictureState {
  const { host } = useModel();
  const [state, setState] = useState<PictureState & { key: string }>({
    picture: null,
    failed: false,
    key: '',
  });
  const key = `${id}/${maxEdgePx}`;
  useEffect(() => {
    if (id === null) return undefined;
    let shown = true;
    loadPicture(host, id, maxEdgePx).then(
      (picture) => shown && setState({ picture, failed: false, key }),
      () => shown && setState({ picture: null, failed: true, key }),
    );
    return () => {
      shown = false;
    };
  }, [host, id, maxEdgePx, key]);
  return state.key === key ? state : { picture: null, failed: false };
}
