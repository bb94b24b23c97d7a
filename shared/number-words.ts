/** Numbers as they are written everywhere: in the window, on paper and in sentences. */

/**
 * Thousands of a written number parted by a narrow no-break space, whatever stands behind its point: a comma would read
 * as a decimal sign to half of the people.
 */
export const inThousands = (figure: string): string =>
  figure.replace(/\d+/, (whole) => whole.replaceAll(/\B(?=(\d{3})+$)/g, '\u202f'));

/** A number without decimals, with a real minus sign. */
export const grouped = (value: number): string =>
  inThousands(String(Math.round(value))).replace(/^-/, '\u2212');
