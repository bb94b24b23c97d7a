/**
 * Growing and shrinking of a mask of bytes 0 and 255 by the two shapes of five pixels: the square, and the round one,
 * which is the square without its four corner pairs above and below. What lies outside of the frame has no say.
 * A plane has 16 bytes before each row, at least 16 after its last whole block of 16, and two rows above and below.
 */
const MARGIN: usize = 16;
const ROWS: i32 = 2;

function margins(plane: usize, width: i32, height: i32, stride: usize, value: u8): void {
  memory.fill(plane, value, stride * ROWS);
  memory.fill(plane + stride * <usize>(height + ROWS), value, stride * ROWS);
  const after = MARGIN + <usize>width;
  for (let y = 0; y < height; y++) {
    const row = plane + stride * <usize>(y + ROWS);
    memory.fill(row, value, MARGIN);
    memory.fill(row + after, value, stride - after);
  }
}

function both(a: v128, b: v128, grow: bool): v128 {
  return grow ? v128.or(a, b) : v128.and(a, b);
}

function pass(
  from: usize,
  across: usize,
  to: usize,
  width: i32,
  height: i32,
  stride: usize,
  round: bool,
  grow: bool,
): void {
  for (let y = 0; y < height; y++) {
    const row = stride * <usize>(y + ROWS) + MARGIN;
    for (let x = 0; x < width; x += 16) {
      const at = from + row + <usize>x;
      let value = both(v128.load(at - 2), v128.load(at - 1), grow);
      value = both(value, v128.load(at), grow);
      value = both(value, v128.load(at + 1), grow);
      v128.store(across + row + <usize>x, both(value, v128.load(at + 2), grow));
    }
  }
  const far = round ? from : across;
  for (let y = 0; y < height; y++) {
    const row = stride * <usize>(y + ROWS) + MARGIN;
    for (let x = 0; x < width; x += 16) {
      const at = row + <usize>x;
      let value = both(v128.load(across + at - stride), v128.load(across + at), grow);
      value = both(value, v128.load(across + at + stride), grow);
      value = both(value, v128.load(far + at - 2 * stride), grow);
      v128.store(to + at, both(value, v128.load(far + at + 2 * stride), grow));
    }
  }
}

/** `times` steps in place; `across` and `other` are planes of the same size to work in. */
export function spread(
  plane: usize,
  across: usize,
  other: usize,
  width: i32,
  height: i32,
  stride: usize,
  times: i32,
  round: bool,
  grow: bool,
): void {
  const outside: u8 = grow ? 0 : 255;
  margins(across, width, height, stride, outside);
  for (let k = 0; k < times; k++) {
    margins(plane, width, height, stride, outside);
    // Once for each, so that the choice stands outside of the loops.
    if (grow) pass(plane, across, other, width, height, stride, round, true);
    else pass(plane, across, other, width, height, stride, round, false);
    memory.copy(plane, other, stride * <usize>(height + 2 * ROWS));
  }
}

/** 0/255 becomes 0/1, with nothing outside of the frame. */
export function seal(plane: usize, width: i32, height: i32, stride: usize): void {
  margins(plane, width, height, stride, 0);
  const one = i8x16.splat(1);
  const end = plane + stride * <usize>(height + 2 * ROWS);
  for (let at = plane; at < end; at += 16) v128.store(at, v128.and(v128.load(at), one));
}
