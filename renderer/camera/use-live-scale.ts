import { useEffect, useMemo, useState } from 'react';
import { useStore } from 'zustand';
import type { Capture, Scale } from '../../shared/index.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { parseNumber } from '../format.ts';
import { recordedSettings } from './constraints.ts';
import type { Live } from './live.ts';
import { scaleHere, scaleLost, type ScaleHere } from './scale-here.ts';

/** The scale of the live picture: typed, else carried over from a picture taken with exactly this setting. */
export type LiveScale = {
  readonly scale: Scale | null;
  readonly here: ScaleHere | null;
  /** Why an earlier scale of this camera does not hold; null when there is none or it holds. */
  readonly lost: string | null;
  readonly typed: string;
  readonly setTyped: (text: string) => void;
  readonly error: string | null;
};

export function useLiveScale(live: Live): LiveScale {
  const captures = useAllCaptures();
  const { state, label, settings } = useStore(live.store, (one) => one.session);
  const [typed, setTyped] = useState('');
  const { granted } = state;
  const known = useMemo(() => {
    if (granted === null || label === '') return { here: null, lost: null };
    const record = {
      camera: label,
      widthPx: granted.widthPx,
      heightPx: granted.heightPx,
      frameRate: granted.frameRate,
      resizeMode: granted.resizeMode,
      settings: recordedSettings(settings),
      held: [],
      made: { how: 'frame' as const },
    };
    return { here: scaleHere(captures, record), lost: scaleLost(captures, record) };
  }, [captures, granted, label, settings]);
  const read = readTyped(typed);
  const scale = typed.trim() === '' ? (known.here?.scale ?? null) : read.scale;
  return { scale, ...known, typed, setTyped, error: read.error };
}

function readTyped(text: string): { scale: Scale | null; error: string | null } {
  if (text.trim() === '') return { scale: null, error: null };
  const umPerPx = parseNumber(text);
  if (umPerPx === null || umPerPx <= 0 || umPerPx > 1000)
    return { scale: null, error: 'Write the micrometres of one pixel, such as 1,02, or leave it empty.' };
  return { scale: { umPerPx, standardUmPerPx: null, source: 'typed' }, error: null };
}

/** Captures of every stylus: a microscope is not used for one stylus only. */
function useAllCaptures(): readonly Capture[] {
  const { host } = useModel();
  const page = useDaybook((state) => state.page);
  const [others, setOthers] = useState<readonly Capture[]>([]);
  const stylusId = page?.stylus.id;
  useEffect(() => {
    let shown = true;
    const read = async (): Promise<Capture[]> => {
      const cards = await host.call('stylus.list', {});
      const ids = cards.map((card) => card.stylus.id).filter((id) => id !== stylusId);
      const pages = await Promise.all(ids.map((id) => host.call('stylus.page', { id })));
      return pages.flatMap((one) => one.captures);
    };
    read().then(
      (found) => shown && setOthers(found),
      () => undefined,
    );
    return () => {
      shown = false;
    };
  }, [host, stylusId]);
  return useMemo(() => [...(page?.captures ?? []), ...others], [page, others]);
}
