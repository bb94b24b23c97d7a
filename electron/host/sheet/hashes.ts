import type { Capture, Recording } from '../../../shared/index.ts';
import { datedText, dayText } from './format.ts';
import { html } from './html.ts';
import type { Markup } from './html.ts';

/** Which files the sheet rests on: whoever holds one can check that it is the very file. */
export function hashTable(
  captures: readonly Capture[],
  recordings: readonly Recording[] = [],
): Markup | null {
  if (captures.length + recordings.length === 0) return null;
  return html`<h2>Originals, by their SHA-256</h2>
    <table class="numbers hashes">
      <tbody>
        ${captures.map(
          (one) =>
            html`<tr>
              <th scope="row">${one.view} view, ${datedText(one.taken)}</th>
              <td class="hash">${one.sha256}</td>
            </tr>`,
        )}
        ${recordings.map(
          (one) =>
            html`<tr>
              <th scope="row">recording, ${dayText(one.recordedOn)}</th>
              <td class="hash">${one.sha256}</td>
            </tr>`,
        )}
      </tbody>
    </table>`;
}
