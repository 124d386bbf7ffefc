import type { StaffKey, When } from "@/demo-data/scenario";
import type { Actor } from "@/lib/access/actor";
import { grant } from "@/lib/access/grant";
import type { Result } from "@/lib/domain/result";
import { localDate, localOf } from "@/lib/domain/time/local";
import { createSession, sessionOf } from "@/lib/records/group-sessions";
import { makeSessionInvitation, sessionInvitationOf } from "@/lib/records/session-invitations";
import { askForPhotos, childrenIn } from "@/lib/records/session-photos";
import { askToCome, takeIn } from "@/lib/records/session-places";

type SessionEvent =
  | { readonly do: "invite"; readonly at: When; readonly days: number }
  | { readonly do: "take-in"; readonly at: When; readonly child: string }
  | { readonly do: "ask-to-come"; readonly at: When; readonly child: string }
  | { readonly do: "ask-for-photos"; readonly at: When; readonly due: When };

export type DemoSession = {
  readonly planned: When;
  readonly starts: When;
  readonly by: StaffKey;
  readonly patternKey: string;
  readonly howToJoin: string;
  readonly events: readonly SessionEvent[];
};

/** One that was held, with its photos in every state, and one to come, for which somebody waits. */
export const SESSIONS: readonly DemoSession[] = [
  {
    planned: [18, "12:00"], starts: [14, "17:00"], by: "lead", patternKey: "thoracic-right+lumbar-left",
    howToJoin: "By video: https://call.alderbrook.example/room-2. Have the two bags and the mat ready.",
    events: [
      ...["Mira", "Priya", "Lena", "Rowan", "Caio"].map((child): SessionEvent => ({ do: "take-in", at: [17, "16:30"], child })),
      { do: "ask-for-photos", at: [14, "17:55"], due: [7, "12:00"] },
    ],
  },
  {
    planned: [1, "12:00"], starts: [-4, "17:30"], by: "therapist", patternKey: "thoracic-left+lumbar-right",
    howToJoin: "By video: https://call.alderbrook.example/room-2. Set the phone up so that the whole mat is in the picture.",
    events: [
      { do: "invite", at: [1, "12:05"], days: 7 },
      { do: "take-in", at: [1, "12:10"], child: "Ansel" },
      { do: "ask-to-come", at: [0, "07:40"], child: "Jonas" },
    ],
  },
];

/** Who the demo's sessions are about, by a child's given name. */
export type SessionCast = {
  readonly staff: Readonly<Record<StaffKey, Actor>>;
  readonly children: ReadonlyMap<string, { readonly childId: string; readonly guardian: Actor }>;
};
/** Turns a day and time of the scenario into an instant; a time to come stays as it is. */
type Clock = { readonly past: (when: When) => number; readonly any: (when: When) => number; readonly zone: string };

/** Every act of every session, each at its own time, for the seed to play among all others. */
export const sessionActs = (cast: SessionCast, clock: Clock): readonly { readonly at: number; readonly run: () => Promise<void> }[] => SESSIONS.flatMap((session) => {
  let sessionId = "";
  const by = cast.staff[session.by];
  const create = async (): Promise<void> => {
    const startsAt = clock.any(session.starts);
    const { hour, minute } = localOf(startsAt, clock.zone);
    const when = { day: localDate(startsAt, clock.zone), time: `${String(hour).padStart(2, "0")}:${String(minute).padStart(2, "0")}`, howToJoin: session.howToJoin };
    sessionId = value(await createSession(await grant(by, "sessions.write", null), { ...when, exerciseKey: "side-lying", patternKey: session.patternKey }, clock.past(session.planned))).sessionId;
  };
  return [
    { at: clock.past(session.planned), run: create },
    ...session.events.map((event) => ({ at: clock.past(event.at), run: async () => play(cast, by, sessionId, event, clock) })),
  ];
});

async function play(cast: SessionCast, by: Actor, sessionId: string, event: SessionEvent, clock: Clock): Promise<void> {
  const at = clock.past(event.at);
  const writing = await grant(by, "sessions.write", null);
  const reading = await grant(by, "sessions.read", null);
  switch (event.do) {
    case "invite":
      value(await makeSessionInvitation(writing, { sessionId, days: event.days }, at));
      return;
    case "take-in":
      value(await takeIn(writing, { sessionId, careOf: named(cast, event.child).childId }, at));
      return;
    case "ask-to-come": {
      const { childId, guardian } = named(cast, event.child);
      const address = (await sessionInvitationOf(reading, sessionId, at))?.address ?? "";
      value(await askToCome(await grant(guardian, "session.join", childId), new URL(address).searchParams.get("key") ?? "", at));
      return;
    }
    case "ask-for-photos": {
      const session = await sessionOf(reading, sessionId, at);
      const placeIds = session ? (await childrenIn(reading, session, at)).map((each) => each.placeId) : [];
      value(await askForPhotos(writing, { sessionId, placeIds, dueOn: localDate(clock.any(event.due), clock.zone) }, at));
    }
  }
}

function named(cast: SessionCast, name: string) {
  const child = cast.children.get(name);
  if (!child) throw new Error(`the demo has no child called ${name}`);
  return child;
}

function value<T>(result: Result<T>): T {
  if (!result.ok) throw new Error(`the app refuses the demo: ${result.problem.code}`);
  return result.value;
}
