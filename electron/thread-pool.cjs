// Loaded before everything else (package.json, `--require`): the pool of threads that decode pictures and read files is
// made at its first use, and a module is read by it already. Four threads, Node's own number, only take turns on a small
// machine, and each keeps the memory of the largest picture that it ever decoded.
const { availableParallelism } = require('node:os');

process.env.UV_THREADPOOL_SIZE ??= String(Math.max(2, availableParallelism()));
