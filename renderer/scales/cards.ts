import { useEffect, useState } from 'react';
import type { PictureRef, ScaleCard } from '../../shared/index.ts';
import { useModel } from '../state/use.ts';

/** The scale cards, renewed whenever the collection changes; null until they are there. */
export function useScaleCards(): readonly ScaleCard[] | null {
  const { host } = useModel();
  const [cards, setCards] = useState<readonly ScaleCard[] | null>(null);
  useEffect(() => {
    let there = true;
    const load = (): void => {
      host.call('scale.cards', {}).then(
        (read) => there && setCards(read),
        () => there && setCards((old) => old ?? []),
      );
    };
    load();
    const off = host.on('changed', load);
    return () => {
      there = false;
      off();
    };
  }, [host]);
  return cards;
}

export type Shown = { readonly url: string; readonly widthPx: number; readonly heightPx: number };

/** A picture by its name at the host, as something an <img> can show; formats that browsers do not know included. */
export function useShown(picture: PictureRef | null, maxEdgePx: number): Shown | null | 'failed' {
  const { host } = useModel();
  const key = picture === null ? '' : JSON.stringify(picture);
  const [state, setState] = useState<{ readonly key: string; readonly shown: Shown | 'failed' } | null>(null);
  useEffect(() => {
    if (key === '') return undefined;
    let there = true;
    let url = '';
    host.call('picture.show', { picture: JSON.parse(key) as PictureRef, maxEdgePx }).then(
      (got) => {
        if (!there) return undefined;
        url = URL.createObjectURL(new Blob([got.bytes], { type: got.mediaType }));
        setState({ key, shown: { url, widthPx: got.widthPx, heightPx: got.heightPx } });
        return undefined;
      },
      () => there && setState({ key, shown: 'failed' }),
    );
    return () => {
      there = false;
      if (url !== '') URL.revokeObjectURL(url);
    };
  }, [host, key, maxEdgePx]);
  return state !== null && state.key === key ? state.shown : null;
}
