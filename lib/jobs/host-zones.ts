import "server-only";
import { HOST_ZONE_PROBES, hostZoneWarning, type HostOffset, type HostZoneData } from "@/lib/domain/time/host-zone-data";

const WARNED = Symbol.for("trueside.host-zones");
type Shared = { [WARNED]?: true };

/**
 * Once a process: one line when this machine's zone data are another release than the app's. Nothing in the app
 * reads the machine's, but logs, the database shell and the operating system do, and would disagree with it.
 */
export function warnOfHostZones(warn: (line: string) => void = (line) => process.stderr.write(line)): void {
  const shared = globalThis as Shared; // a symbol of our own on the global object
  if (shared[WARNED]) return;
  shared[WARNED] = true;
  const warning = hostZoneWarning(readHost());
  if (warning) warn(`${JSON.stringify({ at: new Date().toISOString(), ...warning })}\n`);
}

const readHost = (): HostZoneData => ({ version: process.versions["tz"] ?? null, offsets: HOST_ZONE_PROBES.flatMap(offsetOnHost) });

/** A zone the machine has never heard of is left to the release to tell. */
function offsetOnHost({ zone, instant }: { readonly zone: string; readonly instant: number }): readonly HostOffset[] {
  try {
    const parts = new Intl.DateTimeFormat("en", { timeZone: zone, timeZoneName: "longOffset" }).formatToParts(instant);
    const [, sign, hours, minutes] = /GMT(?:([+-])(\d\d):(\d\d))?/.exec(parts.find((part) => part.type === "timeZoneName")?.value ?? "") ?? [];
    const size = Number(hours ?? 0) * 60 + Number(minutes ?? 0);
    return [{ zone, instant, offsetMinutes: sign === "-" ? -size : size }];
  } catch {
    return [];
  }
}
