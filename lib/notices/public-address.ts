import "server-only";
import { BlockList, isIP } from "node:net";

/** IANA IPv4 Special-Purpose Address Registry (RFC 6890), multicast and what is reserved: nobody's public server. */
const NOT_PUBLIC_4 = [
  ["0.0.0.0", 8], ["10.0.0.0", 8], ["100.64.0.0", 10], ["127.0.0.0", 8], ["169.254.0.0", 16], ["172.16.0.0", 12], ["192.0.0.0", 24], ["192.0.2.0", 24],
  ["192.31.196.0", 24], ["192.52.193.0", 24], ["192.88.99.0", 24], ["192.168.0.0", 16], ["192.175.48.0", 24], ["198.18.0.0", 15], ["198.51.100.0", 24],
  ["203.0.113.0", 24], ["224.0.0.0", 4], ["240.0.0.0", 4],
] as const;
/** Global unicast (RFC 4291, 2.4) without the special-purpose parts of it (IANA IPv6 Special-Purpose Address Registry). */
const UNICAST_6 = ["2000::", 3] as const;
const NOT_PUBLIC_6 = [["2001::", 23], ["2001:db8::", 32], ["2002::", 16], ["2620:4f:8000::", 48], ["3fff::", 20]] as const;

const blocked = new BlockList();
for (const [net, bits] of NOT_PUBLIC_4) blocked.addSubnet(net, bits, "ipv4");
for (const [net, bits] of NOT_PUBLIC_6) blocked.addSubnet(net, bits, "ipv6");
const unicast = new BlockList();
unicast.addSubnet(...UNICAST_6, "ipv6");

/** Whether an address is one that anybody could be asked at, and none of this machine's or this network's own. */
export function isPublicAddress(address: string): boolean {
  const family = isIP(address);
  if (family === 4) return !blocked.check(address, "ipv4");
  return family === 6 && unicast.check(address, "ipv6") && !blocked.check(address, "ipv6");
}
