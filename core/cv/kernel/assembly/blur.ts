/** Pixels that are worked on together, so that a tap is read once for all of them: up to so many less one too many. */
const TOGETHER: i32 = 16;

/** `size` taps along a row; `from` begins half a kernel before the first pixel. */
export function blurRow(from: usize, kernel: usize, size: i32, width: i32, to: usize): void {
  for (let x = 0; x < width; x += TOGETHER) {
    let at = from + ((<usize>x) << 2);
    let tap = v128.load32_splat(kernel);
    let a = f32x4.mul(tap, v128.load(at));
    let b = f32x4.mul(tap, v128.load(at, 16));
    let c = f32x4.mul(tap, v128.load(at, 32));
    let d = f32x4.mul(tap, v128.load(at, 48));
    for (let k = 1; k < size; k++) {
      at += 4;
      tap = v128.load32_splat(kernel + ((<usize>k) << 2));
      a = f32x4.add(a, f32x4.mul(tap, v128.load(at)));
      b = f32x4.add(b, f32x4.mul(tap, v128.load(at, 16)));
      c = f32x4.add(c, f32x4.mul(tap, v128.load(at, 32)));
      d = f32x4.add(d, f32x4.mul(tap, v128.load(at, 48)));
    }
    const out = to + ((<usize>x) << 2);
    v128.store(out, a);
    v128.store(out, b, 16);
    v128.store(out, c, 32);
    v128.store(out, d, 48);
  }
}

/** The same down the columns, from the middle outwards in pairs: `rows` holds 2 half + 1 addresses, top to bottom. */
export function blurColumns(rows: usize, kernel: usize, half: i32, width: i32, to: usize): void {
  const row = rows + ((<usize>half) << 2);
  const middle = kernel + ((<usize>half) << 2);
  for (let x = 0; x < width; x += TOGETHER) {
    const across = (<usize>x) << 2;
    let up = <usize>load<u32>(row) + across;
    let tap = v128.load32_splat(middle);
    let a = f32x4.mul(tap, v128.load(up));
    let b = f32x4.mul(tap, v128.load(up, 16));
    let c = f32x4.mul(tap, v128.load(up, 32));
    let d = f32x4.mul(tap, v128.load(up, 48));
    for (let k = 1; k <= half; k++) {
      const by = (<usize>k) << 2;
      const down = <usize>load<u32>(row + by) + across;
      up = <usize>load<u32>(row - by) + across;
      tap = v128.load32_splat(middle + by);
      a = f32x4.add(a, f32x4.mul(tap, f32x4.add(v128.load(down), v128.load(up))));
      b = f32x4.add(b, f32x4.mul(tap, f32x4.add(v128.load(down, 16), v128.load(up, 16))));
      c = f32x4.add(c, f32x4.mul(tap, f32x4.add(v128.load(down, 32), v128.load(up, 32))));
      d = f32x4.add(d, f32x4.mul(tap, f32x4.add(v128.load(down, 48), v128.load(up, 48))));
    }
    const out = to + across;
    v128.store(out, a);
    v128.store(out, b, 16);
    v128.store(out, c, 32);
    v128.store(out, d, 48);
  }
}
