import { ZONE_DATA_VERSION, offsetAt, isZone } from "@/lib/domain/time/zone";
import { MINUTE_MS } from "@/lib/domain/time/local";

/** What the machine's own zone data say of one moment; the caller asks the machine, this folder never does. */
export type HostOffset = { readonly zone: string; readonly instant: number; readonly offsetMinutes: number };

const NOVEMBER_2026 = Date.UTC(2026, 10, 25, 10);

/** Zones whose rules changed in 2026 (IANA tzdata 2026b to 2026f): machines are oldest here. */
export const HOST_ZONE_PROBES: readonly { readonly zone: string; readonly instant: number }[] = [
  "Africa/Casablanca",
  "America/Vancouver",
  "America/Edmonton",
  "America/Winnipeg",
  "America/Inuvik",
  "America/Havana",
].map((zone) => ({ zone, instant: NOVEMBER_2026 }));

/**
 * The zones in which the machine would be wrong by our zone data. Nothing in this app reads the
 * machine's; but logs, the database shell and the operating system do.
 */
export function hostZoneDataDiffers(host: readonly HostOffset[]): readonly string[] {
  const differs = host.filter(({ zone, instant, offsetMinutes }) => !isZone(zone) || offsetAt(instant, zone) !== offsetMinutes * MINUTE_MS);
  return [...new Set(differs.map(({ zone }) => zone))];
}

/** What a machine says of its own zone data: the release, null where it does not say, and the offsets asked for. */
export type HostZoneData = { readonly version: string | null; readonly offsets: readonly HostOffset[] };

/** One line for the log when the machine's zone data are another release than ours; null when they are the same and agree. */
export function hostZoneWarning({ version, offsets }: HostZoneData) {
  const zones = hostZoneDataDiffers(offsets);
  if (version === ZONE_DATA_VERSION && zones.length === 0) return null;
  return { event: "zone-data-differs", shipped: ZONE_DATA_VERSION, host: version ?? "unknown", zones };
}
