import { useEffect, useMemo, useState } from 'react';
import { useStore } from 'zustand';
import type { CameraRecord, PictureFacts, Scale, ScaleCard } from '../../shared/index.ts';
import { formatDated, parseNumber } from '../format.ts';
import { formatScale } from '../importing/scale.ts';
import { useScaleCards } from '../scales/cards.ts';
import { cardName } from '../scales/scales-screen.tsx';
import { verdictFor } from '../scales/verdict.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { recordedSettings } from './constraints.ts';
import type { Live } from './live.ts';
import { scaleHere, scaleLost } from './scale-here.ts';

/** A scale that may hold for the live picture. */
export type ScaleOffer = {
  readonly id: string;
  readonly label: string;
  readonly scale: Scale;
  /** False: the camera does not report everything that a scale hangs on, so the person has to say so. */
  readonly certain: boolean;
};

export type LiveScale = {
  readonly scale: Scale | null;
  readonly offers: readonly ScaleOffer[];
  /** Id of an offer, 'typed' or 'none'. */
  readonly chosen: string;
  readonly choose: (id: string) => void;
  readonly untouched: boolean;
  readonly setUntouched: (untouched: boolean) => void;
  /** Why an earlier scale of this camera does not hold; null when there is none or it holds. */
  readonly lost: string | null;
  readonly typed: string;
  readonly setTyped: (text: string) => void;
  readonly error: string | null;
};

export function useLiveScale(live: Live, microscope: string): LiveScale {
  const captures = useAllCaptures();
  const cards = useScaleCards();
  const { state, label, settings } = useStore(live.store, (one) => one.session);
  const [wished, setWished] = useState<string | null>(null);
  const [untouched, setUntouched] = useState(false);
  const [typed, setTyped] = useState('');
  const { granted } = state;
  const record = useMemo<CameraRecord | null>(
    () =>
      granted === null || label === ''
        ? null
        : {
            camera: label,
            widthPx: granted.widthPx,
            heightPx: granted.heightPx,
            frameRate: granted.frameRate,
            resizeMode: granted.resizeMode,
            settings: recordedSettings(settings),
            held: [],
            made: { how: 'frame' },
          },
    [granted, label, settings],
  );
  const offers = useMemo(
    () => (record === null ? [] : offersFor(record, microscope, captures, cards ?? [])),
    [record, microscope, captures, cards],
  );
  // What holds for certain is taken unasked; an offer that went away with a setting takes its scale away.
  const known = wished === 'typed' || wished === 'none' || offers.some((one) => one.id === wished);
  const chosen = known && wished !== null ? wished : (offers.find((one) => one.certain)?.id ?? 'none');
  const offer = offers.find((one) => one.id === chosen);
  const read = chosen === 'typed' ? readTyped(typed) : { scale: null, error: null };
  const scale = offer === undefined ? read.scale : offer.certain || untouched ? offer.scale : null;
  return {
    scale,
    offers,
    chosen,
    choose(id) {
      setUntouched(false);
      setWished(id);
    },
    untouched,
    setUntouched,
    lost: record === null || offers.length > 0 ? null : scaleLost(captures, record),
    typed,
    setTyped,
    error: read.error,
  };
}

function offersFor(
  record: CameraRecord,
  microscope: string,
  captures: readonly PictureFacts[],
  cards: readonly ScaleCard[],
): ScaleOffer[] {
  const here = scaleHere(captures, record);
  const told = ['zoom', 'focusDistance'].every((name) => record.settings[name] !== undefined);
  const earlier: ScaleOffer[] =
    here === null
      ? []
      : [
          {
            id: here.from.id,
            label: `Carried over from ${formatDated(here.from.taken)}: ${formatScale(here.scale)}`,
            scale: here.scale,
            certain: told,
          },
        ];
  const { widthPx, heightPx } = record;
  const fromCards = cards.flatMap((card): ScaleOffer[] => {
    const picture = { microscope, widthPx, heightPx, zoom: null, focus: null, camera: record };
    const { verdict } = verdictFor(card, picture);
    if (verdict === 'differs') return [];
    const { zoom, focusDistance } = record.settings;
    const place = {
      id: card.id,
      zoom: typeof zoom === 'number' ? zoom : null,
      focus: typeof focusDistance === 'number' ? focusDistance : null,
    };
    return [
      {
        id: card.id,
        label: `Scale card: ${cardName(card)}`,
        scale: { ...card.scale, card: place },
        certain: verdict === 'holds',
      },
    ];
  });
  return [...earlier, ...fromCards];
}

function readTyped(text: string): { scale: Scale | null; error: string | null } {
  if (text.trim() === '') return { scale: null, error: null };
  const umPerPx = parseNumber(text);
  if (umPerPx === null || umPerPx <= 0 || umPerPx > 1000)
    return { scale: null, error: 'Write the micrometres of one pixel, such as 1,02, or leave it empty.' };
  return { scale: { umPerPx, standardUmPerPx: null, source: 'typed' }, error: null };
}

/** Pictures of every stylus: a microscope is not used for one stylus only. */
function useAllCaptures(): readonly PictureFacts[] {
  const { host } = useModel();
  const page = useDaybook((state) => state.page);
  const [others, setOthers] = useState<readonly PictureFacts[]>([]);
  const stylusId = page?.stylus.id;
  useEffect(() => {
    let shown = true;
    host.call('capture.known', {}).then(
      (found) =>
        shown &&
        setOthers(found.filter(({ stylus }) => stylus.id !== stylusId).flatMap(({ captures }) => captures)),
      () => undefined,
    );
    return () => {
      shown = false;
    };
  }, [host, stylusId]);
  return useMemo(() => [...(page?.captures ?? []), ...others], [page, others]);
}
