import type { Measured, Stylus } from '../../shared/index.ts';
import { formatDate, formatMeasured, formatPlain, lengthUnit, type LengthUnit } from '../format.ts';
import { meaningOf, type EndOn, type Meaning } from './meaning.ts';
import { Line } from './numbers.tsx';

type MeaningProps = {
  readonly flats: readonly { readonly width: Measured; readonly detected: boolean }[];
  readonly stylus: Stylus;
  readonly radius: Measured;
  readonly endOn: EndOn | null;
  readonly unit: LengthUnit;
};

/** Physical meaning beside the numbers; every assumption is said. */
export function MeaningView({ flats, stylus, radius, endOn, unit }: MeaningProps) {
  const meaning = meaningOf(flats, radius, stylus.sideRadiusUm, endOn);
  if (meaning === null) return null;
  const shown = lengthUnit(unit);
  const { contact, measuredOn, bottom } = meaning;
  const basis =
    measuredOn === null
      ? `assumed from the width${stylus.sideRadiusUm === null ? ' of a round tip' : ' and the side radius'}`
      : `measured end-on, ${formatDate(measuredOn)}`;
  return (
    <section className="panel-part" aria-labelledby="meaning">
      <h2 id="meaning">What it means</h2>
      <dl className="numbers">
        <Line
          name="Loss at 10 kHz, inner groove"
          value={lossText(meaning.loss)}
          note={`for a contact of ${formatMeasured(contact, shown)} along the groove, ${basis}; first order only`}
        />
        {bottom !== null && (
          <>
            <Line
              name="Tip reaches the groove’s bottom at"
              value={`a flat of ${formatMeasured(bottom.at, shown)}`}
              note="for a bottom radius of 6 µm, common practice"
            />
            <Line
              name="Left until then"
              value={
                bottom.left.value + bottom.left.expanded <= 0 ? 'nothing' : formatMeasured(bottom.left, shown)
              }
              note="of flat width, by the wider flat"
            />
          </>
        )}
      </dl>
      <p className="hint">No published limit in µm is known; the decision stays yours.</p>
    </section>
  );
}

function lossText(loss: Meaning['loss']): string {
  if (loss === null) return 'beyond this estimate';
  const at = formatPlain(loss.at, 1, 'dB');
  const [least, most] = [loss.least, loss.most].map((end) => (end === null ? null : formatPlain(end, 1, '')));
  return most === null ? `${at}, or beyond this estimate` : `${at} (${least} to ${most})`;
}
