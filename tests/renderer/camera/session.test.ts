import { describe, expect, it } from 'vitest';
import {
  controlsOf,
  grantedOf,
  heldOf,
  openingRequest,
  recordedSettings,
  requestsFor,
  withinRange,
} from '../../../renderer/camera/constraints.ts';
import { troubleSentence } from '../../../renderer/camera/machine.ts';
import { createSession } from '../../../renderer/camera/session.ts';
import { CAMERA, CAPABILITIES, fakeCamera, settle, type FakeCamera } from './fake-camera.ts';

describe('what is asked of a camera', () => {
  it('is a picture only, the largest native frame, not resized', () => {
    expect(openingRequest('scope-1')).toEqual({
      audio: false,
      video: {
        deviceId: { exact: 'scope-1' },
        width: { ideal: 16_384 },
        height: { ideal: 16_384 },
        resizeMode: 'none',
      },
    });
    expect(openingRequest(null).video).not.toHaveProperty('deviceId');
  });

  it('comes in the order modes, then values, each value in a set of its own', () => {
    expect(requestsFor({ exposureTime: 120.4, brightness: 3 }, CAPABILITIES)).toEqual([
      { advanced: [{ exposureMode: 'manual', whiteBalanceMode: 'continuous' }] },
      { advanced: [{ exposureTime: 120 }, { brightness: 3 }] },
    ]);
    expect(requestsFor({}, {})).toEqual([]);
  });

  it('is only what the camera reports and what can be set', () => {
    expect(controlsOf(CAPABILITIES).map((control) => control.name)).toEqual([
      'exposureTime',
      'brightness',
      'colorTemperature',
    ]);
    expect(requestsFor({ focusDistance: 0.1, zoom: 3 }, CAPABILITIES)).toEqual([
      { advanced: [{ exposureMode: 'continuous', whiteBalanceMode: 'continuous' }] },
    ]);
  });

  it('stays within the range and on its steps', () => {
    expect(withinRange(4613, { min: 2800, max: 6500, step: 10 })).toBe(4610);
    expect(withinRange(9e9, { min: 2800, max: 6500, step: 10 })).toBe(6500);
    expect(withinRange(0.123456, { min: 0, max: 1 })).toBe(0.123456);
    expect(withinRange(0.3, { min: 0, max: 1, step: 0.1 })).toBe(0.3);
  });

  it('counts as held only when value and mode read back', () => {
    const wishes = { exposureTime: 120, brightness: 3 };
    const back = { exposureMode: 'manual', exposureTime: 120, brightness: 3 };
    expect(heldOf(wishes, CAPABILITIES, back)).toEqual(['exposureTime', 'brightness']);
    expect(heldOf(wishes, CAPABILITIES, { ...back, exposureMode: 'continuous' })).toEqual(['brightness']);
    expect(heldOf(wishes, CAPABILITIES, { ...back, exposureTime: 125 })).toEqual(['brightness']);
    expect(heldOf(wishes, CAPABILITIES, {})).toEqual([]);
  });

  it('is compared with what was given', () => {
    const settings = { width: 640, height: 480, resizeMode: 'crop-and-scale', frameRate: 30 };
    const granted = grantedOf(settings, CAPABILITIES);
    expect(granted).toMatchObject({ widthPx: 640, heightPx: 480, resizeMode: 'crop-and-scale' });
    expect(granted.notes.join(' ')).toMatch(/2592 × 1944 px.*640 × 480 px.*resizes/);
    expect(grantedOf({ width: 2592, height: 1944, resizeMode: 'none' }, CAPABILITIES).notes).toEqual([]);
  });

  it('is kept without what names the machine', () => {
    const settings = { deviceId: 'x', groupId: 'y', width: 1, exposureTime: 120, torch: false };
    expect(recordedSettings(settings)).toEqual({ exposureTime: 120, torch: false });
  });
});

async function opened(camera: FakeCamera) {
  let dropped = 0;
  const session = createSession(camera, () => dropped++);
  session.open(null);
  await settle();
  return { session, dropped: () => dropped, state: () => session.view().state };
}

describe('a camera session', () => {
  it('opens, reads back, and holds what it was asked to hold', async () => {
    const camera = fakeCamera();
    const { session, state } = await opened(camera);
    expect(state()).toMatchObject({
      at: 'live',
      deviceId: 'scope-1',
      granted: { widthPx: 2592, heightPx: 1944 },
    });
    expect(session.view().cameras).toEqual([CAMERA]);
    await session.wish({ exposureTime: 120 });
    expect(session.view().held).toEqual(['exposureTime']);
    // A camera that takes its own value instead is not said to hold it.
    camera.stubborn = { exposureTime: 156 };
    await session.wish({ exposureTime: 200 });
    expect(session.view().held).toEqual([]);
    expect(session.view().settings['exposureTime']).toBe(156);
    // Let go: the camera's own judgement again.
    await session.wish({});
    expect(session.view().settings['exposureMode']).toBe('continuous');
  });

  it.each([
    ['NotAllowedError', 'denied', 'Allow it'],
    ['NotFoundError', 'none', 'Plug the microscope in'],
    ['NotReadableError', 'busy', 'another program'],
    ['TypeError', 'failed', 'Unplug it'],
  ])('says what to do after %s', async (name, trouble, words) => {
    const camera = fakeCamera();
    camera.fail(name);
    const { session, state } = await opened(camera);
    expect(state()).toMatchObject({ at: 'trouble', trouble });
    expect(troubleSentence(state())).toContain(words);
    camera.fail(null);
    session.open(state().deviceId);
    await settle();
    expect(state().at).toBe('live');
  });

  it('drops a series when the microscope is unplugged, and picks the same one up when it returns', async () => {
    const camera = fakeCamera();
    const { session, dropped, state } = await opened(camera);
    await session.wish({ exposureTime: 120 });
    camera.pull();
    await settle();
    expect(state()).toMatchObject({ at: 'trouble', trouble: 'unplugged', deviceId: 'scope-1' });
    expect(dropped()).toBe(1);
    expect(session.view().stream).toBeNull();
    camera.plug([{ deviceId: 'other', label: 'A webcam' }]);
    await settle();
    expect(state().trouble).toBe('unplugged');
    const before = camera.requests.length;
    camera.plug([{ deviceId: 'other', label: 'A webcam' }, CAMERA]);
    await settle();
    expect(state().at).toBe('live');
    expect(camera.requests[before]).toMatchObject({ video: { deviceId: { exact: 'scope-1' } } });
    // and holds again what was held
    expect(session.view().held).toEqual(['exposureTime']);
  });

  it('notices a camera that vanishes without a word', async () => {
    const camera = fakeCamera();
    const { state } = await opened(camera);
    camera.plug([{ deviceId: 'other', label: 'A webcam' }]);
    await settle();
    expect(state().trouble).toBe('unplugged');
  });

  it('waits for a first camera where there was none', async () => {
    const camera = fakeCamera();
    camera.plug([]);
    const { state } = await opened(camera);
    expect(state().trouble).toBe('none');
    camera.plug([CAMERA]);
    await settle();
    expect(state().at).toBe('live');
  });

  it('tells nobody about a frame that changes nothing', async () => {
    const { session } = await opened(fakeCamera());
    let told = 0;
    session.listen(() => told++);
    for (let i = 0; i < 50; i++) session.frame(2592, 1944);
    expect(told).toBe(0);
    for (let i = 0; i < 5; i++) session.frame(1280, 960);
    expect(told).toBe(1);
  });

  it('says after 10 seconds without a frame that it hangs, and goes on when frames come again', async () => {
    const camera = fakeCamera();
    const { session, dropped, state } = await opened(camera);
    camera.advance(9000);
    session.frame(2592, 1944);
    camera.advance(9900);
    expect(state().at).toBe('live');
    camera.advance(1000);
    expect(state()).toMatchObject({ at: 'trouble', trouble: 'hanging' });
    expect(dropped()).toBe(1);
    expect(session.view().stream).not.toBeNull();
    session.frame(2592, 1944);
    expect(state().at).toBe('live');
  });

  it('stops a series when the size changes in the middle, and goes on only when it is told to', async () => {
    const camera = fakeCamera();
    const { session, dropped, state } = await opened(camera);
    session.frame(2592, 1944);
    session.frame(1280, 960);
    expect(state()).toMatchObject({ trouble: 'size-changed', cameTo: { widthPx: 1280, heightPx: 960 } });
    expect(dropped()).toBe(1);
    expect(troubleSentence(state())).toContain('1280 × 960 px');
    session.frame(1280, 960);
    expect(state().at).toBe('trouble');
    session.acceptSize();
    expect(state()).toMatchObject({ at: 'live', granted: { widthPx: 1280, heightPx: 960 } });
    session.frame(1280, 960);
    expect(state().at).toBe('live');
  });

  it('gives back a camera that comes after the screen was left', async () => {
    const camera = fakeCamera();
    camera.hold();
    const { session, state } = await opened(camera);
    expect(state().at).toBe('asking');
    session.close();
    await camera.answer();
    expect(state().at).toBe('off');
    expect(camera.stopped()).toBe(1);
    expect(session.view().stream).toBeNull();
  });

  it('stops the camera on closing, and hears nothing afterwards', async () => {
    const camera = fakeCamera();
    const { session, state } = await opened(camera);
    session.close();
    expect(camera.stopped()).toBe(1);
    camera.pull();
    camera.advance(60_000);
    await settle();
    expect(state().at).toBe('off');
  });
});
