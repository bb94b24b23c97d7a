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

/** Means of whole blocks, across by down pixels each, of `down` rows that lie one after the other. */
export function meanOfBlocks(from: usize, stride: i32, across: i32, down: i32, width: i32, to: usize): void {
  const area = across * down;
  const scale: f32 = <f32>1 / <f32>area;
  for (let x = 0; x < width; x++) {
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
