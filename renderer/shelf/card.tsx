import { roundTogether } from '../../core/uncertainty/rounding.ts';
import type { NextLookAnswer, StylusCard } from '../../shared/index.ts';
import { formatDated, formatHours, lengthUnit, NBSP, type LengthUnit, type ReportUnit } from '../format.ts';
import { whatEnded, whatIsDue } from '../state/due.ts';
import { writeRoute } from '../state/route.ts';
import { useDaybook } from '../state/use.ts';
import { Picture } from '../ui/bits.tsx';

/** Best estimates to the digits that page and sheet show; the bench has them with uncertainty and limit. */
export function flatsText(flats: NonNullable<StylusCard['lastFlats']>, unit: LengthUnit): string {
  const counted: ReportUnit = flats.unit === 'um' || flats.unit === 'µm' ? 'um' : 'percent-of-shank';
  const { factor, symbol } = lengthUnit(unit, counted);
  const one = (value: number, expanded: number): string =>
    roundTogether(value * factor, expanded * factor).value;
  return `left ${one(flats.leftUm, flats.leftExpandedUm)}, right ${one(flats.rightUm, flats.rightExpandedUm)}${NBSP}${symbol}`;
}

export function StylusCardView(props: {
  readonly card: StylusCard;
  readonly today: string;
  readonly look: NextLookAnswer | null;
}) {
  const { card, today, look } = props;
  const { unit, practiceHours } = useDaybook((state) => state.settings);
  const { stylus } = card;
  const due = whatIsDue({
    stylus,
    hoursNow: card.hoursNow,
    lastLook: card.lastCapture,
    hasBaseline: card.captureCount > 0,
    practiceHours,
    today,
    look,
    confirmed: card.confirmed,
  });
  return (
    <li className="card">
      <a href={writeRoute({ screen: 'stylus', stylusId: stylus.id })} className="card-link">
        <span className="card-cover">
          <Picture captureId={card.coverCaptureId} edge={480} alt="" />
        </span>
        <Clamped className="card-name" text={stylus.name} />
      </a>
      {stylus.demo && <span className="tag tag-demo">invented demo</span>}
      <Clamped className="card-sub" text={stylus.cartridge || 'no cartridge named'} />
      {stylus.deck !== '' && <Clamped className="card-sub" text={stylus.deck} />}
      <dl className="facts">
        <Fact name="Hours" value={formatHours(card.hoursNow)} />
        <Fact name="Last look" value={card.lastCapture ? formatDated(card.lastCapture) : 'none'} />
        <Fact name="Flats" value={card.lastFlats ? flatsText(card.lastFlats, unit) : 'not measured'} />
      </dl>
      {whatEnded({ stylus, confirmed: card.confirmed }).map((line) => (
        <Clamped key={line} className="card-sub" text={line} />
      ))}
      {due.map((one) => (
        <p key={one.text} className={`due due-${one.tone}`}>
          {one.text}
        </p>
      ))}
    </li>
  );
}

/** Two lines at the most, so that one long name does not make a whole row of cards tall; all of it as a tooltip. */
function Clamped({ className, text }: { readonly className: string; readonly text: string }) {
  return (
    <span className={`${className} card-clamped`} title={text}>
      {text}
    </span>
  );
}

function Fact({ name, value }: { readonly name: string; readonly value: string }) {
  return (
    <div>
      <dt>{name}</dt>
      <dd>{value}</dd>
    </div>
  );
}
