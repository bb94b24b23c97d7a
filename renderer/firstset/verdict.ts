import type { Capture } from '../../shared/index.ts';
import { formatMeasured, lengthUnit, NBSP, type LengthUnit } from '../format.ts';
import { roundLimitUp } from '../../core/uncertainty/rounding.ts';

/** What a picture is good for, in sentences. Pure; what was measured is in the capture. */
export type Verdict = {
  readonly state: 'good' | 'partly' | 'not' | 'open';
  readonly sentence: string;
};

const open: Verdict = { state: 'open', sentence: 'Not looked at yet.' };

export function verdictOf(capture: Capture, unit: LengthUnit): Verdict {
  if (capture.view === 'below' || capture.view === 'above') return cantileverVerdict(capture);
  if (capture.view === 'side') return sideVerdict(capture, unit);
  return capture.view === 'end-on' ? endOnVerdict(capture, unit) : tipVerdict(capture, unit);
}

function tipVerdict({ examination, scale }: Capture, unit: LengthUnit): Verdict {
  if (examination === null) return open;
  if (!examination.ok)
    return {
      // Without a scale a picture can still be laid over and compared, in per cent.
      state: scale === null && examination.reason.code === 'scale-missing' ? 'partly' : 'not',
      sentence:
        examination.reason.code === 'scale-missing'
          ? 'Good for comparing in per cent of the shank; no flat in µm can be told until the picture has a scale.'
          : examination.reason.message,
    };
  const { flats } = examination;
  if (flats === undefined) return { state: 'not', sentence: 'No tip outline was measured in this picture.' };
  const shown = lengthUnit(unit, examination.unit ?? 'um');
  const limit = Math.max(flats.left.detectionLimitUm, flats.right.detectionLimitUm) * shown.factor;
  const text = `${roundLimitUp(limit)}${NBSP}${shown.symbol}`;
  const worn = (['left', 'right'] as const).filter((side) => flats[side].detected);
  const said = `Good for finding wear: could show a flat of ${text} or more, for a pose within 2°.`;
  if (worn.length === 0) return { state: 'good', sentence: said };
  const walls = worn.map((side) => `${side} ${formatMeasured(flats[side].widthUm, shown)}`).join(', ');
  return {
    state: 'partly',
    sentence: `${said} Flats are there already (${walls}): this may be no new stylus.`,
  };
}

function endOnVerdict({ examination, scale }: Capture, unit: LengthUnit): Verdict {
  if (examination === null) return open;
  if (!examination.ok) {
    if (examination.reason.code === 'scale-missing' && scale === null)
      return {
        state: 'partly',
        sentence: 'Good for looking; lengths of bright patches can be told once the picture has a scale.',
      };
    return { state: 'not', sentence: examination.reason.message };
  }
  const shown = lengthUnit(unit, examination.unit ?? 'um');
  const facets = examination.facets ?? [];
  if (facets.length === 0)
    return {
      state: 'good',
      sentence: 'No bright patch of a worn facet is there. Good as the picture of the unworn tip.',
    };
  const patches = facets.map((one) => `${one.side} ${formatMeasured(one.alongUm, shown)}`).join(', ');
  return { state: 'partly', sentence: `Bright patches are there already, along the groove: ${patches}.` };
}

/** From the side a picture may show the whole cantilever, or its end with the tip large: what it shows is what it is good for. */
function sideVerdict(capture: Capture, unit: LengthUnit): Verdict {
  const { cantilever, examination } = capture;
  if (cantilever?.ok) return cantileverVerdict(capture);
  if (cantilever === null || examination?.ok) return tipVerdict(capture, unit);
  return {
    state: 'not',
    sentence: `Neither cantilever nor tip could be measured. ${cantilever.reason.message}`,
  };
}

function cantileverVerdict({ cantilever }: Capture): Verdict {
  if (cantilever === null) return open;
  if (!cantilever.ok) return { state: 'not', sentence: cantilever.reason.message };
  const { bendAngleDeg } = cantilever.cantilever;
  const angle = formatMeasured(bendAngleDeg, { factor: 1, symbol: '°' });
  const surely = (2 * bendAngleDeg.expanded).toFixed(1);
  const bent = cantilever.suspicions.some(({ kind }) => kind === 'bent-cantilever');
  return {
    state: bent || bendAngleDeg.value > bendAngleDeg.expanded ? 'partly' : 'good',
    sentence: `${bent ? 'A bent cantilever is suspected: open the picture, look, and confirm or reject it. ' : ''}Good for finding a bend: could show a change of ${surely}° or more. Now ${angle}.`,
  };
}
