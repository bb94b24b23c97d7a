/**
 * Outer borders of the connected parts of a sealed plane (see `spread.ts`), eight neighbours, by border following:
 * S. Suzuki and K. Abe, "Topological structural analysis of digitized binary images by border following", Computer Vision,
 * Graphics, and Image Processing 30 (1985) 32-46, its second algorithm. A border pixel becomes 2, or -126 where the part
 * ends to its right, so that the inside of a part that was followed is known on the same row.
 */
const SEEN: i8 = 2;
const LAST: i8 = -126;

/** Right, then anticlockwise as seen on the screen. */
function step(direction: i32, stride: i32): i32 {
  switch (direction & 7) {
    case 0:
      return 1;
    case 1:
      return 1 - stride;
    case 2:
      return -stride;
    case 3:
      return -1 - stride;
    case 4:
      return -1;
    case 5:
      return stride - 1;
    case 6:
      return stride;
    default:
      return stride + 1;
  }
}

let free: usize = 0;

function say(value: i32): void {
  if (free + 4 > (<usize>memory.size()) << 16) memory.grow(16);
  store<i32>(free, value);
  free += 4;
}

/** Writes the places of the border's pixels, as differences of address from `origin`. */
function follow(start: usize, stride: i32, origin: usize): void {
  let s = 4;
  let first: usize = 0;
  do {
    s = (s - 1) & 7;
    first = start + step(s, stride);
  } while (load<i8>(first) === 0 && s !== 4);
  if (s === 4) {
    store<i8>(start, LAST);
    say(<i32>(start - origin));
    return;
  }
  let at = start;
  for (;;) {
    const before = s;
    let next: usize = 0;
    // Past seven it goes on from the beginning; a border has at least the pixel that it came from.
    while (s < 15) {
      next = at + step(++s, stride);
      if (load<i8>(next) !== 0) break;
    }
    s &= 7;
    if (<u32>(s - 1) < <u32>before) store<i8>(at, LAST);
    else if (load<i8>(at) === 1) store<i8>(at, SEEN);
    say(<i32>(at - origin));
    if (next === start && at === first) return;
    at = next;
    s = (s + 4) & 7;
  }
}

/**
 * Outer borders of at least `least` pixels, from the top: number of pixels, then their places (row times stride plus
 * column). Returns the address after the last; the memory grows as needed. Changes the plane.
 */
export function outlines(plane: usize, width: i32, height: i32, stride: i32, least: i32, out: usize): usize {
  free = out;
  const origin = plane + <usize>(2 * stride + 16);
  for (let y = 0; y < height; y++) {
    const row = origin + <usize>(y * stride);
    let border: usize = row - 1;
    let before: i32 = 0;
    for (let x = 0; x < width + 1; x++) {
      const at = row + <usize>x;
      let value = <i32>load<i8>(at);
      if (value === before) continue;
      if (before === 0 && value === 1 && load<i8>(border) <= 0) {
        const begin = free;
        say(0);
        follow(at, stride, origin);
        const count = <i32>((free - begin) >> 2) - 1;
        if (count < least) free = begin;
        else store<i32>(begin, count);
        value = <i32>load<i8>(at);
        border = at;
      } else if (value === 0 && before >= 1 && (before & -2) !== 0) border = at - 1;
      before = value;
      if ((value & -2) !== 0) border = at;
    }
  }
  return free;
}
