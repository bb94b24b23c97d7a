/** `size` taps along a row; `from` begins half a kernel before the first pixel. Four at a time, so up to three too many. */
export function blurRow(from: usize, kernel: usize, size: i32, width: i32, to: usize): void {
  for (let x = 0; x < width; x += 4) {
    const at = from + ((<usize>x) << 2);
    let sum = f32x4.mul(v128.load32_splat(kernel), v128.load(at));
    for (let k = 1; k < size; k++) {
      const by = (<usize>k) << 2;
      sum = f32x4.add(sum, f32x4.mul(v128.load32_splat(kernel + by), v128.load(at + by)));
    }
    v128.store(to + ((<usize>x) << 2), sum);
  }
}

/** The same down the columns, from the middle outwards in pairs: `rows` holds 2 half + 1 addresses, top to bottom. */
export function blurColumns(rows: usize, kernel: usize, half: i32, width: i32, to: usize): void {
  const row = rows + ((<usize>half) << 2);
  const middle = kernel + ((<usize>half) << 2);
  for (let x = 0; x < width; x += 4) {
    const at = (<usize>x) << 2;
    let sum = f32x4.mul(v128.load32_splat(middle), v128.load(<usize>load<u32>(row) + at));
    for (let k = 1; k <= half; k++) {
      const by = (<usize>k) << 2;
      const pair = f32x4.add(
        v128.load(<usize>load<u32>(row + by) + at),
        v128.load(<usize>load<u32>(row - by) + at),
      );
      sum = f32x4.add(sum, f32x4.mul(v128.load32_splat(middle + by), pair));
    }
    v128.store(to + at, sum);
  }
}
