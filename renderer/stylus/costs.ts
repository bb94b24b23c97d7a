import { inThousands, type Stylus, type StylusCard, type WearCourse } from '../../shared/index.ts';
import { NBSP } from '../format.ts';

/** What a stylus costs by the hour and by the record, over a cartridge's whole line of styluses, in the person's money. */

export type Owned = Pick<Stylus, 'id' | 'name' | 'price' | 'currency' | 'retired' | 'minutesPerSide'>;
export type CostLine = {
  readonly id: string;
  readonly name: string;
  readonly price: number | null;
  readonly currency: string;
  /** null: history unknown. */
  readonly hours: number | null;
};

/** "12.40 EUR"; whole units from a hundred on, because nobody counts cents there. */
export function money(value: number, currency: string): string {
  const digits = value >= 100 ? 0 : value >= 0.1 ? 2 : 3;
  return `${inThousands(value.toFixed(digits))}${currency === '' ? '' : NBSP + currency}`;
}

/** The styluses that came before on the same cartridge, the first one first, this one last. */
export function lineOf(id: string, cards: readonly Pick<StylusCard, 'stylus' | 'hoursNow'>[]): CostLine[] {
  const line: CostLine[] = [];
  const seen = new Set<string>();
  let next: string | undefined = id;
  while (next !== undefined && !seen.has(next)) {
    seen.add(next);
    const wanted: string = next;
    const card = cards.find(({ stylus }) => stylus.id === wanted);
    if (card !== undefined) {
      const { name, price, currency } = card.stylus;
      line.unshift({ id: wanted, name, price, currency, hours: card.hoursNow });
    }
    next = cards.find(({ stylus }) => stylus.retired?.successorId === wanted)?.stylus.id;
  }
  return line;
}

/** Sums of a line; null where prices are missing, differ in currency, or hours are not known. */
export function carriedOn(
  line: readonly CostLine[],
): { readonly price: number; readonly hours: number; readonly currency: string } | null {
  const [first] = line;
  if (first === undefined) return null;
  let price = 0;
  let hours = 0;
  for (const one of line) {
    if (one.price === null || one.hours === null || one.currency !== first.currency) return null;
    price += one.price;
    hours += one.hours;
  }
  return { price, hours, currency: first.currency };
}

export type Life = { readonly low: number; readonly high: number | null; readonly from: string };

/** How long it may serve: the person's own limit by the law, else the rated hours, else common practice. */
export function expectedLife(
  stylus: Pick<Stylus, 'ratedHours'>,
  course: Pick<WearCourse, 'left' | 'right' | 'hoursKnown'> | null,
  practiceHours: readonly [number, number],
): Life {
  const limits = [course?.left, course?.right].flatMap((wall) => wall?.limit?.hours ?? []);
  // The wall that gets there first ends it.
  const first = limits
    .filter(({ low }) => low !== null && low > 0)
    .toSorted((a, b) => (a.low ?? 0) - (b.low ?? 0))
    .at(0);
  if (course?.hoursKnown === true && first !== undefined && first.low !== null)
    return { low: first.low, high: first.high, from: 'your own limit by the wear law' };
  if (stylus.ratedHours !== null)
    return { low: stylus.ratedHours, high: stylus.ratedHours, from: 'the rated hours' };
  return { low: practiceHours[0], high: practiceHours[1], from: 'common practice, no source' };
}

export type Risk = {
  /** Records that pass under the stylus in a week at the present habit. */
  readonly recordsPerWeek: number;
  /** What those are worth: the most that a week too late can spoil. */
  readonly worthPerWeek: number;
  /** What one week earlier costs: the share of the price that is not played. */
  readonly weekEarlier: number | null;
};

export function lateRisk(input: {
  readonly hoursPerWeek: number;
  readonly minutesPerSide: number;
  readonly recordValue: number;
  readonly price: number | null;
  readonly life: Life;
}): Risk {
  const { hoursPerWeek, minutesPerSide, recordValue, price, life } = input;
  const recordsPerWeek = (hoursPerWeek * 60) / (2 * minutesPerSide);
  return {
    recordsPerWeek,
    worthPerWeek: recordsPerWeek * recordValue,
    weekEarlier: price === null ? null : (price / life.low) * hoursPerWeek,
  };
}
