import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { randomFrontPair } from '../../fixtures/render/front-random.ts';
import { renderFrontFrames } from '../../fixtures/render/front.ts';
import { renderPlane, sharpScene, SIZE } from '../core/stack/planes.ts';
import { fakeDevice, type FakeDevice } from './fake-camera.ts';
import { button, expectAccessible, link, readMeasured, wallValue } from './parts.ts';
import { asFile } from './pictures.ts';
import { openProgram, type Program } from './program.ts';
import { addPictures, newStylus } from './set-ups.ts';
import { endAtFirstFailure } from './story.ts';

/**
 * The camera path: a known flat goes through Chromium's fake device (20 frames of one scene, each with noise of its
 * own), through averaging, scale and comparison.
 */
const FLATS = { baselineLeftUm: 0, baselineRightUm: 0, laterLeftUm: 10, laterRightUm: 8 };

describe('a live picture, in a browser window', () => {
  endAtFirstFailure();
  let program: Program;
  let device: FakeDevice;
  const pair = randomFrontPair(71, { easy: true, flats: FLATS });

  beforeAll(async () => {
    device = fakeDevice(renderFrontFrames(pair.specs.later, 20));
    // The microphone is allowed by the browser and still refused by the program's own policy.
    const permissions = ['camera', 'microphone'];
    program = await openProgram('browser window', { permissions, switches: device.switches });
  });
  afterAll(async () => {
    await program?.close();
    device?.tidy();
  });

  it('finds a stylus with a baseline', async () => {
    const { page } = program;
    await newStylus(page, 'Under the microscope', { 'Tip radius': '18' });
    const { umPerPx } = pair.truth.baseline;
    await addPictures(page, [
      [await asFile('new-tip', pair.baseline), { light: 'backlit', day: '2024-01-06', umPerPx }],
    ]);
    await expect.poll(() => page.locator('.strip-item').count(), { timeout: 10_000 }).toBe(1);
  });

  it('opens the camera with its largest frame and says what was given', async () => {
    const { page } = program;
    await page.keyboard.press('Alt+m');
    await page.getByRole('heading', { level: 1, name: 'Live picture, front' }).waitFor();
    await page.getByText('The microscope’s barrel must not touch the cantilever').waitFor();
    const { width, height } = pair.later;
    await page.getByText(`${width} × ${height} px`).waitFor();
    expect(await page.locator('.live-video').getAttribute('aria-label')).toBe('Live picture');
    const sound = await page.evaluate(() =>
      navigator.mediaDevices.getUserMedia({ audio: true }).then(
        () => 'given',
        (error: Error) => error.name,
      ),
    );
    expect(sound).toBe('NotAllowedError');
    await expectAccessible(page, 'the live screen');
  });

  it('reads focus, exposure and the pose against the baseline, five times a second and more', async () => {
    const { page } = program;
    const scale = page.locator('.live-scale');
    await scale.getByLabel('Scale', { exact: true }).selectOption('typed');
    await scale.getByLabel('Micrometres per pixel').fill(String(pair.truth.later.umPerPx).replace('.', ','));
    const pose = page.locator('table.live-pose');
    await pose.waitFor();
    const cell = async (name: string): Promise<string> =>
      (await pose.locator('tr', { hasText: name }).locator('td').first().innerText()).replaceAll(
        '\u00a0',
        ' ',
      );
    const turn = /^([\d.]+)°(?:, turn (anti)?clockwise)?$/;
    await expect.poll(() => cell('Rotation')).toMatch(turn);
    const rotation = turn.exec(await cell('Rotation'));
    // Live minus baseline, anticlockwise positive; the hand has to turn it back.
    const turned = Number(rotation?.[1]) * (rotation?.[2] === 'anti' ? -1 : 1);
    expect(Math.abs(turned - pair.truth.rotationDeg)).toBeLessThan(0.3);
    await expect.poll(() => page.locator('.live-now').innerText()).toBe('Not yet');
    const numbers = async (): Promise<string> =>
      (await page.locator('.live-numbers').innerText()).replaceAll('\u00a0', ' ');
    await expect.poll(numbers).toMatch(/Smallest flat[^\d]*about [\d.]+ µm/);
    const meter = await numbers();
    const edge = Number(/Edge width[^\d]*10 to 90 %\)\s+([\d.]+) µm/.exec(meter)?.[1]);
    const blur = 2.5631 * pair.truth.later.blurSigmaUm;
    expect(edge / blur, meter).toBeGreaterThan(0.9);
    expect(edge / blur, meter).toBeLessThan(1.25);
    const rate = (): Promise<number> =>
      page
        .getByText(/Read \d+ times a second/)
        .innerText()
        .then((text) => Number(/\d+/.exec(text)?.[0]));
    await expect.poll(rate, { timeout: 20_000 }).toBeGreaterThanOrEqual(5);
    await expectAccessible(page, 'the live screen with its readings');
  });

  it('averages 16 distinct frames to a quarter of the noise and keeps them without loss', async () => {
    const { page } = program;
    await page.getByLabel('From').selectOption({ label: 'Mean of 16 frames' });
    await button(page, /^Take and keep/).click();
    const kept = page.locator('.live-kept');
    await kept.waitFor({ timeout: 60_000 });
    const said = (await kept.innerText()).replaceAll('\u00a0', ' ');
    const found = /mean of 16 frames, noise ([\d.]+) → ([\d.]+) grey levels of 255, 16 bits/.exec(said);
    expect(found, said).not.toBeNull();
    const ratio = Number(found?.[2]) / Number(found?.[1]);
    expect(ratio).toBeGreaterThan(0.2);
    expect(ratio).toBeLessThan(0.3);
  });

  it('gives the known flats back within what it states', async () => {
    const { page } = program;
    await button(page.locator('.live-kept'), 'Compare').click();
    await page.locator('.big-value').first().waitFor({ timeout: 60_000 });
    const { flats } = pair.truth.later;
    for (const [wall, truth] of [
      ['Left wall', flats.left.widthUm],
      ['Right wall', flats.right.widthUm],
    ] as const) {
      const { value, expanded } = readMeasured(await wallValue(page, wall));
      expect(Math.abs(value - truth), `${wall}: ${value} ± ${expanded}, true ${truth}`).toBeLessThanOrEqual(
        expanded,
      );
      expect(expanded).toBeLessThan(2);
    }
  });

  it('keeps when and how it was taken', async () => {
    const { page } = program;
    await link(page, 'Under the microscope').click();
    await page.locator('.strip-item').nth(1).locator('a').first().click();
    await page.getByRole('heading', { name: 'How it was taken' }).waitFor();
    const panel = (await page.locator('.bench-panel').innerText()).replaceAll('\u00a0', ' ');
    expect(panel).toContain('mean of 16 frames');
    expect(panel).toContain(device.file);
    expect(panel).toContain('when it was taken live');
    await expectAccessible(page, 'a live picture on its own');
  });

  it('carries the scale over to the next picture with the same setting', async () => {
    const { page } = program;
    await page.keyboard.press('Alt+m');
    const scale = page.locator('.live-scale');
    const offer = scale.locator('option', { hasText: 'Carried over from' });
    await offer.waitFor({ state: 'attached' });
    // The fake camera reports neither zoom nor focus, so nothing is carried over unasked.
    const choice = scale.getByLabel('Scale', { exact: true });
    expect(await choice.inputValue()).toBe('none');
    await choice.selectOption(String(await offer.getAttribute('value')));
    const limit = page.locator('.live-numbers').getByText(/about [\d.]+\u00a0px/);
    await limit.first().waitFor();
    await scale.getByLabel('Zoom and focus were not touched since then').check();
    await page
      .locator('.live-numbers')
      .getByText(/about [\d.]+\u00a0µm/)
      .first()
      .waitFor();
    expect(await offer.innerText()).toContain('µm/px');
  });

  it('says "now" in the pose of its own picture, and takes the next one by itself', async () => {
    const { page } = program;
    // The live picture becomes the baseline, so the camera stands in its pose exactly.
    await link(page, 'Under the microscope').click();
    await page.locator('.strip-item').nth(1).getByRole('button', { name: /^Edit/ }).click();
    const form = page.getByRole('dialog');
    await form.getByLabel('This is the baseline of its view').check();
    await button(form, 'Save').click();
    await form.waitFor({ state: 'detached' });
    await page.keyboard.press('Alt+m');
    await page.locator('.live-now', { hasText: /^Now$/ }).waitFor({ timeout: 20_000 });
    await page.getByLabel('Baseline over it').selectOption({ label: 'Its picture' });
    await page.getByLabel('Strength', { exact: true }).fill('40');
    await expect.poll(() => page.locator('.live-underlay image').getAttribute('opacity')).toBe('0.4');
    await page.getByLabel(/^Take the picture by itself/).check();
    await page.locator('.live-kept').getByText('mean of 16 frames').waitFor({ timeout: 60_000 });
    await expect.poll(() => page.getByLabel(/^Take the picture by itself/).isChecked()).toBe(false);
  });

  it('freezes a frame, keeps it, and takes it back', async () => {
    const { page } = program;
    await page.getByText('640 × 480 px').waitFor();
    await button(page, 'Freeze').click();
    await page.getByText('frozen', { exact: true }).waitFor();
    await page.keyboard.press('Alt+t');
    await page.locator('.live-kept').getByText('one frame').waitFor({ timeout: 30_000 });
    await button(page, 'Undo').last().click();
    await page.locator('.live-kept').waitFor({ state: 'detached' });
    await link(page, 'Under the microscope').click();
    await expect.poll(() => page.locator('.strip-item').count(), { timeout: 10_000 }).toBe(3);
    // The browser says aloud that the program's policy refused the microphone that this test asked for.
    expect(program.troubles.filter((one) => !/microphone/i.test(one))).toEqual([]);
  });
});

describe('several focal planes, in a browser window', () => {
  endAtFirstFailure();
  let program: Program;
  let device: FakeDevice;

  beforeAll(async () => {
    const sharp = sharpScene();
    const frames = Array.from({ length: 18 }, (_, k) => {
      // The wheel goes through the part and rests at both ends.
      const focus = Math.min(1, Math.max(0, (k - 2) / 13));
      const rgba = renderPlane(sharp, { focus, zoom: 0.004 - 0.0005 * k }, 900 + k);
      return { ...SIZE, channels: 1 as const, data: rgba.filter((_v, i) => i % 4 === 0) };
    });
    device = fakeDevice(frames);
    program = await openProgram('browser window', { permissions: ['camera'], switches: device.switches });
  });
  afterAll(async () => {
    await program?.close();
    device?.tidy();
  });

  it('are taken while the wheel is turned, merged, and kept with their parts', async () => {
    const { page } = program;
    await newStylus(page, 'Deep one');
    await page.keyboard.press('Alt+m');
    await page.getByText(`${SIZE.width} × ${SIZE.height} px`).waitFor();
    await page.getByLabel('Scale', { exact: true }).selectOption('typed');
    await page.getByLabel('Micrometres per pixel').fill('1');
    await page.getByText('Several focal planes').click();
    await button(page, 'Start a series').click();
    const planes = async (): Promise<number> =>
      Number(/(\d+) planes? so far/.exec(await page.locator('.live-collecting').innerText())?.[1]);
    await expect.poll(planes, { timeout: 30_000 }).toBeGreaterThanOrEqual(3);
    await expectAccessible(page, 'the live screen during a series');
    await button(page, 'Merge and keep').click();
    await page
      .locator('.live-kept')
      .getByText(/merged from \d+ focal planes/)
      .waitFor({ timeout: 60_000 });
  });

  it('say in the report that the picture is a merge, and what that costs', async () => {
    const { page } = program;
    await link(page, 'Look at it').click();
    const single = page.getByText(/^The \d+ single planes$/);
    const count = Number(/\d+/.exec(await single.innerText())?.[0]);
    expect(count).toBeGreaterThanOrEqual(2);
    await single.click();
    await expect.poll(() => page.locator('.live-parts img').count(), { timeout: 20_000 }).toBe(count);
    await button(page, 'Examine the tip').click();
    await page.getByText('was put together from the sharp places').waitFor({ timeout: 60_000 });
    await page.getByText('Where the uncertainty comes from').click();
    expect(await page.locator('.budget').innerText()).toContain('merge of focal planes');
    expect(program.troubles).toEqual([]);
  });

  it('leave nothing behind when the series is stopped', async () => {
    const { page } = program;
    await page.keyboard.press('Alt+m');
    await page.getByText(`${SIZE.width} × ${SIZE.height} px`).waitFor();
    await page.getByText('Several focal planes').click();
    await button(page, 'Start a series').click();
    await button(page, 'Stop').click();
    await page.locator('.live-collecting').waitFor({ state: 'detached' });
    await link(page, 'Deep one').click();
    await expect.poll(() => page.locator('.strip-item').count(), { timeout: 10_000 }).toBe(1);
  });
});

describe('without a camera, in a browser window', () => {
  it.each([
    ['denied', [], ['--use-fake-device-for-media-stream', '--deny-permission-prompts'], 'was not allowed'],
    ['none', ['camera'], [], 'No camera was found'],
  ] as const)('says what to do: %s', async (_what, permissions, switches, words) => {
    const program = await openProgram('browser window', { permissions: [...permissions], switches });
    try {
      const { page } = program;
      await page
        .getByRole('link', { name: /Everyday stylus/ })
        .first()
        .click();
      await link(page, 'Live picture').click();
      await page.getByText(words).waitFor();
      await button(page, 'Try again').waitFor();
      expect(await button(page, /^Take and keep/).isDisabled()).toBe(true);
      expect(program.troubles).toEqual([]);
    } finally {
      await program.close();
    }
  });
});
