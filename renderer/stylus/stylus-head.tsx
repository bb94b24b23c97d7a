import { DropdownMenu } from 'radix-ui';
import {
  ADVICE_WORDS,
  priceText,
  type GivenAdvice,
  type NextLookAnswer,
  type StylusPage,
} from '../../shared/index.ts';
import { formatDate, formatHours, formatLength, formatMeasured, grouped, NBSP, today } from '../format.ts';
import { whatIsDue } from '../state/due.ts';
import { hoursNow, toRecords } from '../state/hours.ts';
import { writeRoute } from '../state/route.ts';
import type { Settings } from '../state/settings.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { Crumb, ScreenTitle } from '../ui/bits.tsx';
import { Icon } from '../ui/icons.tsx';

export function StylusHead(props: {
  readonly page: StylusPage;
  readonly look: NextLookAnswer | null;
  readonly advice: GivenAdvice | null;
}) {
  const { page, look, advice } = props;
  const { open } = useModel();
  const { stylus } = page;
  const settings = useDaybook((state) => state.settings);
  const stylusId = stylus.id;
  // Off now is off now: when to look again would only distract from it.
  const due =
    advice?.outcome === 'take-off'
      ? []
      : whatIsDue({
          stylus,
          hoursNow: page.hoursNow,
          lastLook: lastLook(page),
          hasBaseline: page.captures.some((capture) => capture.isBaseline),
          practiceHours: settings.practiceHours,
          today: today(),
          look,
        });
  return (
    <header className="stylus-head">
      <Crumb to="#/" name="Shelf">
        {stylus.demo && <span className="tag tag-demo">invented demo</span>}
        {stylus.retired !== null && (
          <span className="tag">{`retired ${formatDate(stylus.retired.date)}: ${stylus.retired.reason}`}</span>
        )}
      </Crumb>
      <div className="screen-head">
        <ScreenTitle>{stylus.name}</ScreenTitle>
        <div className="actions">
          <button
            type="button"
            className="button"
            onClick={() => open({ kind: 'playing', stylusId, entry: null })}
          >
            <Icon name="clock" />
            Log playing time
          </button>
          <button type="button" className="button" onClick={() => open({ kind: 'compare', stylusId })}>
            <Icon name="compare" />
            Compare
          </button>
          <a className="button" href={writeRoute({ screen: 'sheet', stylusId, comparisonId: null })}>
            <Icon name="sheet" />
            Sheet
          </a>
          <a className="button" href={writeRoute({ screen: 'camera', stylusId, view: 'front' })}>
            <Icon name="camera" />
            Live picture
          </a>
          <button
            type="button"
            className="button button-main"
            onClick={() => open({ kind: 'import', stylusId, files: [] })}
          >
            <Icon name="picture" />
            Add pictures
          </button>
          <MoreMenu page={page} />
        </div>
      </div>
      <KeyFacts page={page} settings={settings} />
      {advice !== null && stylus.retired === null && <Verdict advice={advice} />}
      {due.length > 0 && (
        <ul className="due-list" aria-label="What is due">
          {due.map((one) => (
            <li key={one.text} className={`due due-${one.tone}`}>
              {one.text}
            </li>
          ))}
        </ul>
      )}
      {stylus.notes !== '' && <p className="stylus-notes">{stylus.notes}</p>}
    </header>
  );
}

/** What the advice further down comes to, where nobody has to look for it. */
function Verdict({ advice }: { readonly advice: GivenAdvice }) {
  const toAdvice = (): void => {
    const heading = document.getElementById('advice');
    heading?.scrollIntoView({ block: 'start' });
    heading?.focus({ preventScroll: true });
  };
  return (
    <p className={`verdict advice-${advice.outcome}`}>
      <strong>{ADVICE_WORDS[advice.outcome]}.</strong>
      {` ${advice.sentence} `}
      <button type="button" className="button button-quiet" onClick={toAdvice}>
        Why
        <span className="visually-hidden">: to the advice</span>
      </button>
    </p>
  );
}

function lastLook(page: StylusPage) {
  let last: StylusPage['captures'][number]['taken'] = null;
  for (const { taken } of page.captures)
    if (taken !== null && (last === null || taken.wall >= last.wall)) last = taken;
  return last;
}

function KeyFacts({ page, settings }: { readonly page: StylusPage; readonly settings: Settings }) {
  const { stylus } = page;
  const { unit, minutesPerSide } = settings;
  const facts: [string, string, string?][] = [
    ['Playing time', hoursText(page), hoursDetail(page, minutesPerSide)],
    ['Cartridge', stylus.cartridge || 'not named'],
    ['Deck', stylus.deck || 'not named'],
    ['Profile', stylus.profile || 'not named'],
    ['Tip radius', radiusText(page, unit), stylus.radiusUm === null ? '' : 'as stated by the seller'],
  ];
  if (stylus.startDate !== null) facts.push(['In use since', formatDate(stylus.startDate)]);
  if (stylus.ratedHours !== null) facts.push(['Rated hours', formatHours(stylus.ratedHours)]);
  if (stylus.limitUm !== null) facts.push(['Your limit', formatLength(stylus.limitUm, unit)]);
  if (stylus.price !== null) facts.push(['Price', priceText(stylus.price, stylus.currency), perHour(page)]);
  return (
    <dl className="facts key-facts">
      {facts.map(([name, value, detail]) => (
        <div key={name}>
          <dt>{name}</dt>
          <dd>
            {value}
            {detail !== undefined && detail !== '' && <small>{detail}</small>}
          </dd>
        </div>
      ))}
    </dl>
  );
}

/** Hours and their uncertainty, rounded together. */
function hoursText(page: StylusPage): string {
  const { known, hours, standard } = hoursNow(page);
  if (!known || hours < 1 || standard < 0.01) return formatHours(page.hoursNow);
  return formatMeasured({ value: hours, expanded: 2 * standard }, { factor: 1, symbol: 'h' });
}

/** Parts, records and groove of the hours; without any claim about time before an unknown purchase. */
export function hoursDetail(page: StylusPage, usualMinutes: number): string {
  const figure = hoursNow(page);
  const counted = figure.logged + figure.estimated + figure.byHabit;
  if (!figure.known)
    return counted > 0 ? `${formatHours(counted)} here; before that nobody knows` : 'nobody knows';
  if (figure.hours < 1) return '';
  const parts: [number, string][] = [
    [figure.atStart, 'at the start'],
    [figure.logged, 'logged'],
    [figure.estimated, 'estimated'],
    [figure.byHabit, 'by weekly habit, an estimate'],
  ];
  const named = parts.filter(([hours]) => hours > 0).map(([hours, word]) => `${formatHours(hours)} ${word}`);
  const records = grouped(toRecords(figure.hours, page.stylus.minutesPerSide ?? usualMinutes));
  return `${named.join(', ')}; about ${records} records, ${grouped(figure.kilometres)}${NBSP}km of groove`;
}

function radiusText({ stylus }: StylusPage, unit: Settings['unit']): string {
  if (stylus.radiusUm === null) return 'not known';
  const main = formatLength(stylus.radiusUm, unit);
  return stylus.sideRadiusUm === null ? main : `${main} × ${formatLength(stylus.sideRadiusUm, unit)}`;
}

function perHour({ stylus, hoursNow }: StylusPage): string {
  if (stylus.price === null || hoursNow === null || hoursNow < 1) return '';
  const each = (stylus.price / hoursNow).toFixed(2);
  return `${each}${stylus.currency === '' ? '' : NBSP + stylus.currency} an hour so far`;
}

function MoreMenu({ page }: { readonly page: StylusPage }) {
  const { open, bin, go } = useModel();
  const { stylus } = page;
  const items: [string, () => void][] = [
    ['First set of pictures…', () => go({ screen: 'first-set', stylusId: stylus.id })],
    ['Repeatability of your readings…', () => go({ screen: 'studies', stylusId: stylus.id })],
    ['Edit stylus…', () => open({ kind: 'stylus', stylusId: stylus.id })],
    ['Retire stylus…', () => open({ kind: 'retire', stylusId: stylus.id })],
    ['Put stylus into the bin', () => void bin('stylus', stylus.id, `“${stylus.name}”`)],
  ];
  return (
    <DropdownMenu.Root>
      <DropdownMenu.Trigger className="button">More</DropdownMenu.Trigger>
      <DropdownMenu.Portal>
        <DropdownMenu.Content className="menu" align="end" sideOffset={4}>
          {items.map(([name, act]) => (
            <DropdownMenu.Item key={name} className="menu-item" onSelect={act}>
              {name}
            </DropdownMenu.Item>
          ))}
        </DropdownMenu.Content>
      </DropdownMenu.Portal>
    </DropdownMenu.Root>
  );
}
