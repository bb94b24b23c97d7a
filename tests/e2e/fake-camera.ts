import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Pixels } from '../../fixtures/render/camera.ts';
import { writeY4m } from '../../fixtures/render/y4m.ts';

/** Chromium's own fake device, fed with frames of our renderer. */
export type FakeDevice = { readonly file: string; readonly switches: string[]; tidy(): void };

export function fakeDevice(frames: readonly Pixels[]): FakeDevice {
  const folder = mkdtempSync(join(tmpdir(), 'daybook-camera-'));
  const file = join(folder, 'frames.y4m');
  writeY4m(file, frames);
  return {
    file,
    switches: ['--use-fake-device-for-media-stream', `--use-file-for-fake-video-capture=${file}`],
    tidy: () => rmSync(folder, { recursive: true, force: true }),
  };
}
