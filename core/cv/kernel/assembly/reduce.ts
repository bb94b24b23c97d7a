/** One source row by the table of shares: column of the source, column of the copy, share; twelve bytes each. */
export function reduceRow(from: usize, table: usize, count: i32, width: i32, to: usize): void {
  memory.fill(to, 0, (<usize>width) << 2);
  const end = table + <usize>count * 12;
  for (let entry = table; entry < end; entry += 12) {
    const into = to + ((<usize>load<u32>(entry, 4)) << 2);
    const value = load<f32>(from + ((<usize>load<u32>(entry)) << 2));
    store<f32>(into, load<f32>(into) + value * load<f32>(entry, 8));
  }
}

/** sum += share * row, or sum = share * row where a row of the copy begins. */
export function addRow(row: usize, share: f32, width: i32, sum: usize, begins: bool): void {
  const by = f32x4.splat(share);
  for (let x = 0; x < width; x += 4) {
    const at = (<usize>x) << 2;
    const part = f32x4.mul(by, v128.load(row + at));
    v128.store(sum + at, begins ? part : f32x4.add(v128.load(sum + at), part));
  }
}

/** The usual blocks, two by two, four of them at a time; returns how many are done. */
function halved(from: usize, stride: usize, width: i32, to: usize): i32 {
  const quarter = f32x4.splat(0.25);
  const end = width & ~3;
  for (let x = 0; x < end; x += 4) {
    const at = from + ((<usize>x) << 3);
    const left = v128.load(at);
    const right = v128.load(at, 16);
    let sum = f32x4.add(
      v128.shuffle<f32>(left, right, 0, 2, 4, 6),
      v128.shuffle<f32>(left, right, 1, 3, 5, 7),
    );
    const below = v128.load(at + stride);
    const belowRight = v128.load(at + stride, 16);
    sum = f32x4.add(sum, v128.shuffle<f32>(below, belowRight, 0, 2, 4, 6));
    sum = f32x4.add(sum, v128.shuffle<f32>(below, belowRight, 1, 3, 5, 7));
    // Added to a sum that begins with 0, which makes a 0 of a -0.
    v128.store(to + ((<usize>x) << 2), f32x4.mul(f32x4.add(f32x4.splat(0), sum), quarter));
  }
  return end;
}

/** Means of whole blocks, across by down pixels each, of `down` rows that lie one after the other. */
export function meanOfBlocks(from: usize, stride: i32, across: i32, down: i32, width: i32, to: usize): void {
  const area = across * down;
  const scale: f32 = <f32>1 / <f32>area;
  const quick = across === 2 && down === 2 ? halved(from, (<usize>stride) << 2, width, to) : 0;
  for (let x = quick; x < width; x++) {
    let sum: f32 = 0;
    let four: f32 = 0;
    let k = 0;
    const whole = area & ~3;
    for (let j = 0; j < down; j++) {
      let at = from + ((<usize>(j * stride + x * across)) << 2);
      for (let i = 0; i < across; i++, k++, at += 4) {
        const value = load<f32>(at);
        // Four at a time are added up before they are added; the rest one by one.
        if (k >= whole) sum += value;
        else if ((k & 3) === 0) four = value;
        else {
          four += value;
          if ((k & 3) === 3) sum += four;
        }
      }
    }
    store<f32>(to + ((<usize>x) << 2), sum * scale);
  }
}
