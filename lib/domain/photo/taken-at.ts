/**
 * When the camera says the photo was taken. Cameras often write wall-clock time alone: then
 * `zoneKnown` is false and `at` is that clock reading taken as if it were UTC.
 */
export type TakenAt = { readonly at: number; readonly zoneKnown: boolean };

const WALL_CLOCK = /^(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d):(\d\d)/;
const OFFSET = /^([+-])(\d\d):(\d\d)/;

/** EXIF's date and offset (CIPA DC-008, tags 36867 and 36881); null when it is no real moment. */
export function parseTakenAt(date: string | undefined, offset: string | undefined): TakenAt | null {
  const found = WALL_CLOCK.exec(date ?? "");
  if (!found) return null;
  const [year, month, day, hour, minute, second] = found.slice(1).map(Number);
  if (year === undefined || year < 1990 || month === undefined) return null;
  const wall = Date.UTC(year, month - 1, day, hour, minute, second);
  // Cameras without a set clock write month 0 or day 0; Date would roll those over silently.
  const read = new Date(wall).toISOString().slice(0, 19);
  if (read !== found[0].replace(":", "-").replace(":", "-").replace(" ", "T")) return null;
  const zone = OFFSET.exec(offset ?? "");
  if (!zone) return { at: wall, zoneKnown: false };
  const minutes = Number(zone[2]) * 60 + Number(zone[3]);
  if (minutes > 14 * 60) return { at: wall, zoneKnown: false };
  return { at: wall - (zone[1] === "-" ? -1 : 1) * minutes * 60_000, zoneKnown: true };
}
