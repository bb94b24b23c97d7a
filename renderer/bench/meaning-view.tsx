import type { Measured, Stylus } from '../../shared/index.ts';
import { formatLength, formatPlain, type LengthUnit } from '../format.ts';
import { meaningOf } from './meaning.ts';
import { Line } from './numbers.tsx';

type MeaningProps = {
  readonly flats: readonly { readonly width: Measured; readonly detected: boolean }[];
  readonly stylus: Stylus;
  readonly radiusUm: number;
  readonly unit: LengthUnit;
};

/** Physical meaning beside the numbers; every assumption is said. */
export function MeaningView({ flats, stylus, radiusUm, unit }: MeaningProps) {
  const radius = stylus.radiusUm ?? radiusUm;
  const meaning = meaningOf(flats, radius, stylus.sideRadiusUm);
  if (meaning === null) return null;
  return (
    <section className="panel-part" aria-labelledby="meaning">
      <h2 id="meaning">What it means</h2>
      <dl className="numbers">
        <Line
          name="Loss at 10 kHz, inner groove"
          value={meaning.lossDb === null ? 'beyond this estimate' : formatPlain(meaning.lossDb, 1, 'dB')}
          note={`for a contact of ${formatLength(meaning.contactUm, unit)} along the groove, assumed from the width${stylus.sideRadiusUm === null ? ' of a round tip' : ' and the side radius'}; first order only`}
        />
        {meaning.bottomUm !== null && (
          <Line
            name="Tip reaches the groove’s bottom at"
            value={`a flat of ${formatLength(meaning.bottomUm, unit)}`}
            note="for a bottom radius of 6 µm, common practice"
          />
        )}
      </dl>
      <p className="hint">No published limit in µm is known; the decision stays yours.</p>
    </section>
  );
}
