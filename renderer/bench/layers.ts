import { useEffect, useMemo, useState } from 'react';
import type { Pose } from '../../shared/geometry.ts';
import { loadPicture } from '../state/pictures.ts';
import { useModel } from '../state/use.ts';
import type { Tone } from './bench-state.ts';
import type { Level, Pyramid } from './pyramid.ts';
import { makePyramid } from './pyramids.ts';

/** A picture ready for the stage: grey, at several sizes. */
export type Layer = {
  readonly id: string;
  readonly pose: Pose;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly levels: readonly Level[];
};
export type { Level } from './pyramid.ts';

/** First what fills a stage, at once; then, once that stands, what a close look needs. */
const EDGES = [1024, 4096] as const;
const REST_MS = 250;

/** The small ones stay while the window is open, so that a pair that was looked at before is there at once. */
const KEPT = 12;
const small = new Map<string, Promise<Pyramid>>();

function smallPyramid(key: string, make: () => Promise<Pyramid>): Promise<Pyramid> {
  const known = small.get(key) ?? make();
  small.delete(key);
  small.set(key, known);
  known.catch(() => small.delete(key));
  if (small.size > KEPT) small.delete([...small.keys()][0]);
  return known;
}

const rest = (ms: number): Promise<void> =>
  new Promise((resolve) => {
    setTimeout(resolve, ms);
  });

/** The coarsest level that still has a pixel for every device pixel. */
export function levelFor(layer: Layer, devicePxPerPicturePx: number): Level {
  return layer.levels.findLast((level) => level.reduction >= devicePxPerPicturePx) ?? layer.levels[0];
}

export type LayerState = { readonly layer: Layer | null; readonly failed: boolean };
type Made = { readonly id: string; readonly pyramid: Pyramid | null };

/** Null pose: nothing to show yet. */
export function useLayer(
  id: string | null,
  pose: Pose | null,
  fullWidthPx: number,
  tone: Tone,
  tint: string | null = null,
): LayerState {
  const { host } = useModel();
  const [made, setMade] = useState<Made | null>(null);
  useEffect(() => {
    if (id === null) return undefined;
    let shown = true;
    const load = async (): Promise<void> => {
      const made = async (edge: number): Promise<Pyramid> => {
        const { blob } = await loadPicture(host, id, edge);
        return makePyramid({ blob, widthPx: fullWidthPx, tone, tint });
      };
      const key = `${id}/${tone.brightness}/${tone.contrast}/${tint}`;
      const first = await smallPyramid(key, () => made(EDGES[0]));
      if (!shown) return;
      setMade({ id, pyramid: first });
      // A small picture came whole the first time.
      if (first.levels[0].reduction >= 1) return;
      await rest(REST_MS);
      if (!shown) return;
      const whole = await made(EDGES[1]);
      if (shown) setMade({ id, pyramid: whole });
    };
    load().catch(() => {
      // The small one may be there although the large one cannot be had.
      if (shown) setMade((last) => (last?.id === id && last.pyramid !== null ? last : { id, pyramid: null }));
    });
    return () => {
      shown = false;
    };
  }, [host, id, fullWidthPx, tone, tint]);
  const own = made?.id === id ? made : null;
  const pyramid = own?.pyramid ?? null;
  const layer = useMemo<Layer | null>(
    () =>
      id === null || pose === null || pyramid === null
        ? null
        : { id, pose, widthPx: fullWidthPx, heightPx: pyramid.heightPx, levels: pyramid.levels },
    [id, pose, fullWidthPx, pyramid],
  );
  return { layer, failed: own !== null && own.pyramid === null };
}
