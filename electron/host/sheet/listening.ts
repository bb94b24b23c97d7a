import {
  CLEANING_WORDS,
  type Entry,
  type ListeningPage,
  type Measured,
  type Recording,
  type ToneChannel,
} from '../../../shared/index.ts';
import { dayText, measured } from './format.ts';
import { html } from './html.ts';
import type { Markup } from './html.ts';

/** What was heard, and what recordings of the same band or passage show then and now. */
const LAST_CHECKS = 4;
const NAMES = { left: 'left', right: 'right', mono: 'one channel' } as const;

export function listeningPart(page: ListeningPage, entries: readonly Entry[]): Markup | null {
  const checks = entries.filter((one) => one.kind === 'listening').slice(-LAST_CHECKS);
  const tones = page.recordings.filter((one) => one.tone?.ok);
  const pairs = page.comparisons.filter((one) => one.report.ok);
  if (checks.length + tones.length + pairs.length === 0) return null;
  return html`<h2>Listening</h2>
    ${
      checks.length === 0
        ? null
        : html`<table class="numbers">
            <tbody>
              ${checks.map(
                (one) =>
                  html`<tr>
                    <th scope="row">${dayText(one.date)}</th>
                    <td class="text">${one.text}</td>
                  </tr>`,
              )}
            </tbody>
          </table>`
    }
    ${tones.length === 0 ? null : toneTable(page, tones)} ${pairs.length === 0 ? null : passageTable(page)}
    <p class="small">
      Recorded values carry the repeatability of pieces of one recording, about 95 in 100. The record, the arm
      and the converter share in every one of them: only the change between two recordings speaks of the
      stylus.
    </p>`;
}

const bandName = (page: ListeningPage, recording: Recording): string =>
  page.passages.find((one) => one.id === recording.passageId)?.name ?? '';

const shown = (channel: ToneChannel): string =>
  channel.thdDetected
    ? measured(channel.thdPercent, '%')
    : `not detected, below ${channel.thdLimitPercent.toPrecision(2)}\u00A0%`;

function toneRow(page: ListeningPage, recording: Recording): Markup | null {
  if (!recording.tone?.ok) return null;
  const { channels, balanceDb, separationDb } = recording.tone.value;
  const stereo =
    balanceDb !== null
      ? `balance ${measured(balanceDb, 'dB')}`
      : separationDb !== null
        ? `separation ${separationDb.atLeast ? 'at least ' : ''}${measured(separationDb.value, 'dB')}`
        : '';
  const moment = recording.cleaning === 'none' ? '' : `, ${CLEANING_WORDS[recording.cleaning]}`;
  return html`<tr>
    <th scope="row">${dayText(recording.recordedOn)}${moment}</th>
    <td>${bandName(page, recording)}</td>
    <td>${channels.map((channel) => `${NAMES[channel.name]} ${shown(channel)}`).join('; ')}</td>
    <td>${stereo}</td>
  </tr>`;
}

const toneTable = (page: ListeningPage, tones: readonly Recording[]): Markup =>
  html`<table class="numbers">
    <thead>
      <tr>
        <th scope="col">Recorded on</th>
        <th scope="col">Test band</th>
        <th scope="col">THD, 2nd to 5th harmonic</th>
        <th scope="col">Left over right</th>
      </tr>
    </thead>
    <tbody>
      ${tones.map((one) => toneRow(page, one))}
    </tbody>
  </table>`;

function passageTable(page: ListeningPage): Markup {
  const find = (id: string): Recording => page.recordings.find((one) => one.id === id)!;
  const change = (value: Measured): string => measured(value, 'dB');
  return html`<table class="numbers">
    <thead>
      <tr>
        <th scope="col">Recorded then and now</th>
        <th scope="col">Passage</th>
        <th scope="col">Change above 5 kHz</th>
      </tr>
    </thead>
    <tbody>
      ${page.comparisons.map(({ earlierId, laterId, report }) =>
        report.ok
          ? html`<tr>
              <th scope="row">
                ${dayText(find(earlierId).recordedOn)} and ${dayText(find(laterId).recordedOn)}
              </th>
              <td>${bandName(page, find(laterId))}</td>
              <td>
                ${report.value.channels.map((one) => `${NAMES[one.name]} ${change(one.above5kDb)}`).join('; ')}
              </td>
            </tr>`
          : null,
      )}
    </tbody>
  </table>`;
}
