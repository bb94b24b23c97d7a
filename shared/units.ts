import { inThousands } from './number-words.ts';

/**
 * Units and frames in the type: a number that carries a unit cannot be handed to a parameter of another unit.
 * The brand exists for the compiler only; at run time these are plain numbers.
 */
declare const unit: unique symbol;
type Branded<Name extends string> = number & { readonly [unit]: Name };

/** Micrometres. 1 mil = 25.4 um exactly. */
export type Um = Branded<'um'>;
/** Square micrometres. */
export type Um2 = Branded<'um2'>;
/** Degrees, anticlockwise on screen positive. */
export type Degrees = Branded<'deg'>;
/** Radians. */
export type Radians = Branded<'rad'>;
/** Micrometres per pixel of one capture. */
export type UmPerPx = Branded<'um/px'>;
/** Hours of playing time. */
export type Hours = Branded<'h'>;

export const um = (value: number): Um => value as Um;
export const um2 = (value: number): Um2 => value as Um2;
export const degrees = (value: number): Degrees => value as Degrees;
export const radians = (value: number): Radians => value as Radians;
export const umPerPx = (value: number): UmPerPx => value as UmPerPx;
export const hours = (value: number): Hours => value as Hours;

export const UM_PER_MIL = 25.4;
/**
 * A price as somebody wrote it: "120 EUR", "49.90 EUR". Cents are shown where there are some, on screen and on paper;
 * without a currency the figure stands alone.
 */
export function priceText(amount: number, currency: string): string {
  const cents = Math.round(amount * 100);
  const [whole, rest] = [Math.trunc(cents / 100), Math.abs(cents % 100)];
  const figure = inThousands(String(whole));
  const text = rest === 0 ? figure : `${figure}.${String(rest).padStart(2, '0')}`;
  return currency === '' ? text : `${text}\u00a0${currency}`;
}

export const toRadians = (angle: Degrees): Radians => radians((angle * Math.PI) / 180);
export const toDegrees = (angle: Radians): Degrees => degrees((angle * 180) / Math.PI);
