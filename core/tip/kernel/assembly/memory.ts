/** The i-th number of the list that begins at an address. */
export function at(list: usize, i: i32): f64 {
  return load<f64>(list + ((<usize>i) << 3));
}

export function put(list: usize, i: i32, value: f64): void {
  store<f64>(list + ((<usize>i) << 3), value);
}

/** First address that is free to use. */
export function firstFree(): usize {
  return (__heap_base + 15) & ~15;
}
