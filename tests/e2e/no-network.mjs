import dns from 'node:dns';
import net from 'node:net';

/**
 * Loaded into the program under test before anything else: lets nothing out but to this machine itself, and says on
 * standard error who was asked for. The end-to-end suite fails when anybody was.
 */
const LOCAL = /^(127(\.\d+){3}|::1|localhost)$/;
const say = (host) => process.stderr.write(`asked for: ${host}\n`);
const unreachable = (host) =>
  Object.assign(new Error(`no network in this test: ${host}`), { code: 'ENETUNREACH' });

// Kept by its descriptor: the method is called on the socket that it was asked of.
const { value: connect } = Object.getOwnPropertyDescriptor(net.Socket.prototype, 'connect');
net.Socket.prototype.connect = function guarded(...args) {
  const first = Array.isArray(args[0]) ? args[0][0] : args[0];
  const given = typeof first === 'object' && first !== null ? first : { port: first, host: args[1] };
  const host = typeof given.host === 'string' ? given.host : 'localhost';
  // A path is a pipe or socket file of this machine.
  if (typeof given.path === 'string' || typeof first === 'string' || LOCAL.test(host))
    return connect.apply(this, args);
  say(host);
  process.nextTick(() => this.destroy(unreachable(host)));
  return this;
};

const { lookup } = dns;
dns.lookup = (host, ...rest) => {
  if (LOCAL.test(host) || net.isIP(host) !== 0) return lookup(host, ...rest);
  say(host);
  process.nextTick(() => rest.at(-1)(unreachable(host)));
  return {};
};
