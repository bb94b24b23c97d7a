import { AxeBuilder } from '@axe-core/playwright';
import type { Locator, Page } from 'playwright-core';
import { expect } from 'vitest';

/** Small things that every story does. Everything is found as a person finds it: by role, label and words. */
export const button = (page: Page | Locator, name: string | RegExp): Locator =>
  page.getByRole('button', { name, exact: typeof name === 'string' });
export const link = (page: Page | Locator, name: string | RegExp): Locator =>
  page.getByRole('link', { name, exact: typeof name === 'string' });
export const dialog = (page: Page, name: string | RegExp): Locator => page.getByRole('dialog', { name });

/** WCAG 2.2 AA as far as a machine can judge it, target size included. */
export async function expectAccessible(page: Page, where: string): Promise<void> {
  const found = await new AxeBuilder({ page })
    .withTags(['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'])
    // The preview is a document of its own in a sandbox; the sheet has its own tests.
    .exclude('iframe')
    .analyze();
  const said = found.violations.map(
    (violation) => `${violation.id}: ${violation.nodes.map((node) => node.target.join(' ')).join(', ')}`,
  );
  expect(said, `axe on ${where}`).toEqual([]);
}

/** "9.49 ± 0.55 µm" as two numbers, no-break spaces and minus sign included. */
export function readMeasured(text: string): { value: number; expanded: number } {
  const plain = text.replaceAll('\u00a0', ' ').replaceAll('\u2212', '-');
  const found = /^(-?[\d.]+) ± ([\d.]+) µm/.exec(plain);
  if (found === null) throw new Error(`readMeasured: "${text}" is no value with uncertainty in µm`);
  return { value: Number(found[1]), expanded: Number(found[2]) };
}

/** A panel of the bench's wall: what it says of one side. */
export async function wallValue(page: Page, wall: 'Left wall' | 'Right wall'): Promise<string> {
  const part = page.locator('.side-flat', { has: page.getByRole('heading', { name: wall }) });
  return (await part.locator('.big-value').innerText()).trim();
}
