import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { button, expectAccessible, link } from './parts.ts';
import { openProgram, type Program } from './program.ts';
import { endAtFirstFailure } from './story.ts';

/**
 * A camera that makes trouble, in the window itself: a canvas stands in for it, so that it can be unplugged, change its
 * size, fall silent and take settings. What the machine behind it decides has its own tests (tests/renderer/camera).
 */
type Stand = {
  size: (width: number, height: number) => void;
  pull: () => void;
  plug: () => void;
  silence: (silent: boolean) => void;
  fail: (name: string | null) => void;
};
declare global {
  var stand: Stand;
}

/** Runs in the page before anything else. */
function standIn(): void {
  let plugged = true;
  let failing: string | null = null;
  let silent = false;
  let track: MediaStreamTrack | null = null;
  const canvas = document.createElement('canvas');
  canvas.width = 640;
  canvas.height = 480;
  const context = canvas.getContext('2d')!;
  let count = 0;
  setInterval(() => {
    if (silent) return;
    count++;
    context.fillStyle = '#c8c8c8';
    context.fillRect(0, 0, canvas.width, canvas.height);
    context.fillStyle = '#101010';
    context.beginPath();
    context.moveTo(200, 0);
    context.lineTo(320 - 16, 300);
    context.arc(320, 300, 18, 2.6, 0.54, true);
    context.lineTo(440, 0);
    context.fill();
    // So that no two frames are the same.
    context.fillStyle = count % 2 === 0 ? '#c7c7c7' : '#c9c9c9';
    context.fillRect(5 + (count % 50), 5, 2, 2);
  }, 40);
  const settings: Record<string, unknown> = {
    deviceId: 'stand',
    frameRate: 25,
    resizeMode: 'none',
    exposureMode: 'continuous',
    exposureTime: 333,
    brightness: 10,
  };
  const capabilities = {
    width: { min: 1, max: 640 },
    height: { min: 1, max: 480 },
    exposureMode: ['continuous', 'manual'],
    exposureTime: { min: 10, max: 1000, step: 1 },
    brightness: { min: 0, max: 100, step: 5 },
  };
  const { mediaDevices } = navigator;
  mediaDevices.getUserMedia = async (request) => {
    if (request?.audio) throw new DOMException('a microphone was asked for', 'NotAllowedError');
    if (failing !== null) throw new DOMException('', failing);
    if (!plugged) throw new DOMException('', 'NotFoundError');
    const stream = canvas.captureStream(25);
    [track] = stream.getVideoTracks();
    Object.defineProperty(track, 'label', { value: 'Invented microscope' });
    track.getCapabilities = () => capabilities;
    track.getSettings = () => ({ ...settings, width: canvas.width, height: canvas.height });
    track.applyConstraints = async (wished) => {
      for (const set of wished?.advanced ?? [])
        for (const [name, value] of Object.entries(set))
          // This one takes no brightness that it is asked for.
          if (name !== 'brightness' && (name !== 'exposureTime' || settings['exposureMode'] === 'manual'))
            settings[name] = value;
    };
    return stream;
  };
  mediaDevices.enumerateDevices = async () =>
    plugged
      ? [
          {
            kind: 'videoinput',
            deviceId: 'stand',
            label: 'Invented microscope',
            groupId: '',
            toJSON: () => '',
          },
        ]
      : [];
  const changed = (): void => void mediaDevices.dispatchEvent(new Event('devicechange'));
  globalThis.stand = {
    size(width, height) {
      canvas.width = width;
      canvas.height = height;
    },
    pull() {
      plugged = false;
      track?.stop();
      track?.dispatchEvent(new Event('ended'));
      changed();
    },
    plug() {
      plugged = true;
      changed();
    },
    silence: (now) => (silent = now),
    fail: (name) => (failing = name),
  };
}

const says = (page: Page, words: string) => page.locator('.live-notice').getByText(words);

describe('a camera that makes trouble, in a browser window', () => {
  endAtFirstFailure();
  let program: Program;

  beforeAll(async () => {
    program = await openProgram('browser window');
    const { page } = program;
    await page.addInitScript(standIn);
    await page.reload();
    await page
      .getByRole('link', { name: /Everyday stylus/ })
      .first()
      .click();
    await link(page, 'Live picture').click();
  });
  afterAll(async () => {
    await program?.close();
  });

  it('is used for its picture, and says what it was given', async () => {
    const { page } = program;
    await page.getByText('640 × 480 px').waitFor();
    const camera = page.getByLabel('Camera', { exact: true }).locator('option:checked');
    await expect.poll(() => camera.innerText()).toBe('Invented microscope');
  });

  it('holds a control only when it reads back', async () => {
    const { page } = program;
    const exposure = page.locator('.live-control', { hasText: 'Exposure time' });
    await exposure.getByLabel('Hold exposure time').check();
    await exposure.getByText('Held, read back as 33.3').waitFor();
    await exposure.getByLabel('Exposure time', { exact: true }).fill('12,5');
    await exposure.getByText('Held, read back as 12.5').waitFor();
    const brightness = page.locator('.live-control', { hasText: 'Brightness' });
    await brightness.getByLabel('Brightness', { exact: true }).fill('40');
    await brightness.getByText('Not held: the camera says 10').waitFor();
    await expectAccessible(page, 'controls of the camera');
    expect(await page.getByLabel('Hold exposure time').isChecked()).toBe(true);
  });

  it('is picked up again with its held controls after it was unplugged in the middle of a series', async () => {
    const { page } = program;
    await page.getByLabel('From').selectOption('16');
    await button(page, /^Take and keep/).click();
    await page.evaluate(() => globalThis.stand.pull());
    await says(page, 'The microscope was unplugged').waitFor();
    await page.getByText('Nothing was kept').waitFor();
    await expect.poll(() => button(page, /^Take and keep/).isDisabled()).toBe(true);
    await expectAccessible(page, 'an unplugged camera');
    await page.evaluate(() => globalThis.stand.plug());
    await page.locator('.live-notice').waitFor({ state: 'detached' });
    await page.getByText('Held, read back as 12.5').waitFor();
  });

  it('stops when its size changes, and goes on with the new one only when told', async () => {
    const { page } = program;
    await page.evaluate(() => globalThis.stand.size(320, 240));
    await says(page, 'changed its frame size in the middle, to 320 × 240 px').waitFor();
    await button(page, 'Go on with the new size').click();
    await page.locator('.live-notice').waitFor({ state: 'detached' });
    await page.getByText('320 × 240 px').waitFor();
    await page.evaluate(() => globalThis.stand.size(640, 480));
    await says(page, 'to 640 × 480 px').waitFor();
    await button(page, 'Start the camera again').click();
    await page.locator('.live-notice').waitFor({ state: 'detached' });
    await expect.poll(() => page.locator('#live-camera ~ dl').innerText()).toContain('640 × 480 px');
  });

  it('is said to hang after ten seconds of silence, and goes on by itself', async () => {
    const { page } = program;
    await page.evaluate(() => globalThis.stand.silence(true));
    await says(page, 'has sent no picture for 10 seconds').waitFor({ timeout: 30_000 });
    await page.evaluate(() => globalThis.stand.silence(false));
    await page.locator('.live-notice').waitFor({ state: 'detached' });
    await expect.poll(() => button(page, /^Take and keep/).isEnabled()).toBe(true);
  });

  it.each([
    ['NotReadableError', 'another program is using it'],
    ['NotAllowedError', 'The camera was not allowed'],
    ['NotFoundError', 'No camera was found'],
  ])('says what to do after %s, and tries again', async (name, words) => {
    const { page } = program;
    await page.evaluate((which) => {
      globalThis.stand.pull();
      globalThis.stand.fail(which);
      globalThis.stand.plug();
    }, name);
    await says(page, words).waitFor();
    await page.evaluate(() => globalThis.stand.fail(null));
    await button(page, 'Try again').click();
    await page.locator('.live-notice').waitFor({ state: 'detached' });
    await expect.poll(() => page.locator('.live-video').isVisible()).toBe(true);
  });

  it('left nothing half-stored behind', async () => {
    const { page } = program;
    await link(page, 'Everyday stylus (demo)').click();
    await page.getByRole('heading', { level: 1, name: 'Everyday stylus (demo)' }).waitFor();
    expect(await page.getByText('today', { exact: true }).count()).toBe(0);
    expect(await page.locator('.strip-item', { hasText: 'when it was taken live' }).count()).toBe(0);
    expect(program.troubles).toEqual([]);
  });
});
