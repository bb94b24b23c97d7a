import { describe, expect, it } from 'vitest';
import { lineOfPoints, lineText, parseLine } from '../../renderer/bench/skew-line.ts';
import { imageToTip } from '../../shared/geometry.ts';

describe('the line of a skew, typed', () => {
  it('is an angle, with comma or point, or two places', () => {
    expect(parseLine('2,5')).toEqual({ angleDeg: 2.5 });
    expect(parseLine(' -1.5 ')).toEqual({ angleDeg: -1.5 });
    expect(parseLine('100 420 900 433')).toEqual({ from: [100, 420], to: [900, 433] });
    expect(parseLine('100; 420; 900,5; 433')).toEqual({ from: [100, 420], to: [900.5, 433] });
  });

  it('is nothing else', () => {
    for (const text of ['', 'level', '1 2', '1 2 3', '5 5 5 6', '400', '1 2 3 4 5'])
      expect(parseLine(text), text).toBeNull();
  });
});

describe('the line of a skew, set on the picture', () => {
  const pose = { xPx: 320, yPx: 240, rotationDeg: 30, umPerPx: 6 };
  const onStage = (x: number, y: number): [number, number] => {
    const at = imageToTip(pose, { x, y });
    return [at.x, at.y];
  };

  it('counts in picture pixels, whichever way the stage is turned, and can be typed over', () => {
    const line = lineOfPoints([onStage(100, 420), onStage(900, 433.26)], pose)!;
    expect(line).toEqual({ from: [100, 420], to: [900, 433.3] });
    expect(lineText(line)).toBe('100 420 900 433.3');
    expect(parseLine(lineText(line))).toEqual(line);
  });

  it('needs two places that lie apart', () => {
    expect(lineOfPoints([onStage(10, 10)], pose)).toBeNull();
    expect(lineOfPoints([onStage(10, 10), onStage(11, 11)], pose)).toBeNull();
  });
});
