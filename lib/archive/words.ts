import "server-only";
import type { ChildRecord } from "@/lib/domain/archive/child-record.schema";
import { formatDate, formatLocalDate } from "@/lib/domain/time/format";
import type { Reader } from "@/lib/domain/words/reader";
import { say, type Say } from "@/lib/messages/say";

/** How one archive speaks: to its reader, by the practice's clock, of people by name. */
export type Voice = {
  readonly reader: Reader;
  readonly t: Say;
  readonly family: Say;
  /** Always with the year: an archive is read years later. */
  date(at: string): string;
  day(localDate: string): string;
  who(personId: string): string;
};

export function voiceOf(record: ChildRecord, reader: Reader): Voice {
  const names = new Map(record.people.map(({ id, name }) => [id, name]));
  const family = say("family", reader);
  return {
    reader, t: say("archive", reader), family,
    date: (at) => formatDate(Date.parse(at), record.practice.timeZone, reader.locale),
    day: (localDate) => formatLocalDate(localDate, reader.locale),
    who: (personId) => names.get(personId) ?? family("decidedBySystem"),
  };
}
