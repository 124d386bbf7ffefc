import type { SceneParams } from "@/demo-data/scene/params";
import type { Level, Region } from "@/lib/domain/curve/region";
import type { Phase, Verdict, View } from "@/lib/domain/setup/vocabulary";
import type { Side } from "@/lib/domain/sides";
import type { SymptomKey } from "@/lib/domain/symptoms/symptoms";

/** An invented practice in an invented town; nobody here exists. */
export const PRACTICE = { name: "Alderbrook Back Clinic", phone: "01632 960100", timeZone: "Europe/London", promiseMinutes: { "photo-set": 8 * 60, question: 12 * 60, symptom: 2 * 60 } } as const;

export const STAFF = [
  { key: "lead", role: "lead", name: "Ines Calloway", email: "ines@alderbrook.example" },
  { key: "therapist", role: "therapist", name: "Tom Ferrant", email: "tom@alderbrook.example" },
] as const;
export type StaffKey = (typeof STAFF)[number]["key"];

/** When something happened: so many days before today, at a local time. */
export type When = readonly [daysAgo: number, time: string];

export type CurveEntry = { readonly region: Region; readonly side: Side; readonly apex: Level; readonly cobb: number };

/** `isFilmed`: with a clip that the photo is a frame of. */
export type Shot = { readonly view: View; readonly scene: Omit<SceneParams, "lieOn" | "view" | "seed"> & { readonly lieOn?: Side }; readonly isFilmed?: true };

/** What the therapist saw besides "in place": anything not named is in place where the views show it. */
export type Judged = { readonly [itemKey: string]: Verdict };

export type DemoEvent =
  | { readonly do: "record"; readonly at: When; readonly curves: readonly CurveEntry[]; readonly reassessInDays: number; readonly notAssessed?: readonly Region[] }
  | { readonly do: "confirm"; readonly at: When; readonly apexSpot: string }
  | { readonly do: "open"; readonly at: When; readonly phase: Phase }
  | { readonly do: "consent"; readonly at: When }
  | { readonly do: "send"; readonly at: When; readonly key: string; readonly shots: readonly Shot[]; readonly note?: string }
  | { readonly do: "answer"; readonly at: When; readonly set: string; readonly by: StaffKey; readonly judged: Judged; readonly summary: string; readonly ringOn?: string; readonly pairWith?: string }
  | { readonly do: "symptom"; readonly at: When; readonly symptoms: readonly SymptomKey[]; readonly note: string }
  | { readonly do: "asks"; readonly at: When; readonly key: string; readonly set: string; readonly words: string }
  | { readonly do: "reply"; readonly at: When; readonly question: string; readonly by: StaffKey; readonly words: string }
  | { readonly do: "asks-back"; readonly at: When; readonly set: string; readonly by: StaffKey; readonly words: string }
  | { readonly do: "practised"; readonly at: When };

type DemoCarer = { readonly name: string; readonly email: string; readonly phone: string };
/** `bornIn` is for a demo filled in 2026; a later one keeps everybody's age. */
export type DemoChild = {
  readonly name: string;
  readonly bornIn: string;
  readonly looks: number;
  readonly events: readonly DemoEvent[];
  /** With a sign-in of their own. */
  readonly self?: { readonly name: string; readonly email: string };
};
export type DemoFamily = {
  readonly name: string;
  readonly guardian: DemoCarer;
  /** Lives apart from the first, with an account of their own for the same children. */
  readonly otherGuardian?: DemoCarer;
  readonly children: readonly DemoChild[];
};

const APEX_SPOT = "Two fingers above the hip bone, where the low back bulges";
const DOUBLE = (thoracic: Side): readonly CurveEntry[] => [
  { region: "thoracic", side: thoracic, apex: "T8", cobb: 27 },
  { region: "lumbar", side: thoracic === "right" ? "left" : "right", apex: "L2", cobb: 22 },
];
const LUMBAR = (side: Side): readonly CurveEntry[] => [{ region: "lumbar", side, apex: "L2", cobb: 18 }];

const started = (daysAgo: number, curves: readonly CurveEntry[], reassessInDays = 120): readonly DemoEvent[] => [
  { do: "consent", at: [daysAgo, "18:40"] },
  { do: "record", at: [daysAgo - 1, "10:15"], curves, reassessInDays },
  { do: "confirm", at: [daysAgo - 1, "10:25"], apexSpot: APEX_SPOT },
  { do: "open", at: [daysAgo - 1, "10:26"], phase: "position" },
];
const both = (scene: Shot["scene"] = {}): readonly Shot[] => [{ view: "behind", scene }, { view: "front", scene }];
/** From behind with two breaths as a clip, and from the front. */
const breathing = (scene: Shot["scene"] = {}): readonly Shot[] => [{ view: "behind", scene, isFilmed: true }, { view: "front", scene }];

export const FAMILIES: readonly DemoFamily[] = [
  {
    name: "Okonjo-Lund",
    guardian: { name: "Adaeze Okonjo-Lund", email: "adaeze@families.example", phone: "01632 960101" },
    children: [{
      name: "Mira", bornIn: "2013-04", looks: 3,
      events: [
        ...started(68, DOUBLE("right")),
        { do: "send", at: [66, "17:50"], key: "m1", shots: both({ elbowHeight: 0.35, armpitOpen: 0.2 }), note: "Her first try. The towel slips a bit." },
        { do: "answer", at: [65, "10:05"], set: "m1", by: "lead", judged: { "elbow-high": "fix", "armpit-open": "fix" }, summary: "Mira lies on her LEFT, as she should. The bags sit well. Only the top arm needs work.", ringOn: "elbow-high" },
        { do: "send", at: [58, "18:10"], key: "m2", shots: both({ elbowHeight: 0.9, armpitOpen: 0.3 }) },
        { do: "answer", at: [57, "09:40"], set: "m2", by: "lead", judged: { "armpit-open": "fix" }, summary: "Lying on the LEFT, bags in the right spot. The elbow is up now. Let the armpit look at the camera in front." },
        { do: "send", at: [49, "17:20"], key: "m3", shots: both({ elbowHeight: 1, armpitOpen: 1 }) },
        { do: "answer", at: [48, "11:30"], set: "m3", by: "therapist", judged: {}, summary: "All in place, lying on the LEFT. Well done, both of you." },
        { do: "send", at: [20, "18:05"], key: "m4", shots: both({ elbowHeight: 1, armpitOpen: 1 }) },
        { do: "answer", at: [19, "10:20"], set: "m4", by: "lead", judged: {}, summary: "Still all in place, lying on the LEFT. Keep going like this.", pairWith: "m1" },
        { do: "practised", at: [3, "18:30"] },
        { do: "practised", at: [1, "18:20"] },
      ],
    }],
  },
  {
    name: "Brandvik",
    guardian: { name: "Sanna Brandvik", email: "sanna@families.example", phone: "01632 960102" },
    children: [{
      name: "Jonas", bornIn: "2012-09", looks: 8,
      events: [
        ...started(40, DOUBLE("left")),
        { do: "send", at: [39, "18:20"], key: "j0", shots: both({ bottomArmBend: 60 }) },
        { do: "answer", at: [38, "10:30"], set: "j0", by: "therapist", judged: { "bottom-arm-long": "fix" }, summary: "Jonas lies on his RIGHT, correct for his back. Lay the bottom arm long on the floor." },
        { do: "send", at: [33, "19:10"], key: "j1", shots: both({ kneeBend: 15, bottomArmBend: 50 }), note: "Is the knee bent enough?" },
        { do: "answer", at: [32, "09:35"], set: "j1", by: "therapist", judged: { "bottom-knee-bent": "fix", "bottom-arm-long": "fix" }, summary: "Jonas lies on his RIGHT, correct for his back. Bend the bottom knee more and lay the bottom arm long.", ringOn: "bottom-knee-bent" },
        { do: "send", at: [12, "18:35"], key: "j2", shots: both({ bottomArmBend: 40 }) },
        { do: "answer", at: [11, "16:10"], set: "j2", by: "therapist", judged: { "bottom-arm-long": "fix" }, summary: "On the RIGHT, and the knee is good now. Only the bottom arm: long on the floor, palm down.", ringOn: "bottom-arm-long" },
        { do: "asks", at: [10, "19:05"], key: "jq1", set: "j2", words: "May he put a folded cloth under the bottom arm? The floor is cold." },
        { do: "reply", at: [9, "11:20"], question: "jq1", by: "therapist", words: "Yes, a thin cloth is fine. The arm stays long on it, palm down." },
        { do: "practised", at: [2, "17:45"] },
      ],
    }],
  },
  {
    name: "Sorrel",
    guardian: { name: "Maeve Sorrel", email: "maeve@families.example", phone: "01632 960103" },
    children: [{
      name: "Nia", bornIn: "2014-01", looks: 12,
      events: [
        ...started(16, LUMBAR("left")),
      ],
    }],
  },
  {
    name: "Teagle",
    guardian: { name: "Colm Teagle", email: "colm@families.example", phone: "01632 960104" },
    children: [{
      name: "Oscar", bornIn: "2011-11", looks: 6,
      events: [
        { do: "consent", at: [9, "20:05"] },
        { do: "record", at: [8, "14:20"], curves: [{ region: "thoracic", side: "right", apex: "T9", cobb: 24 }], reassessInDays: 150 },
      ],
    }],
  },
  {
    name: "Halvard",
    guardian: { name: "Ritu Halvard", email: "ritu@families.example", phone: "01632 960105" },
    children: [{
      name: "Priya", bornIn: "2013-07", looks: 10,
      events: [
        ...started(30, DOUBLE("right")),
        { do: "send", at: [27, "18:15"], key: "p1", shots: both() },
        { do: "answer", at: [26, "10:45"], set: "p1", by: "lead", judged: {}, summary: "All in place, lying on the LEFT." },
        { do: "send", at: [5, "18:25"], key: "p2", shots: both({ propOffset: 0.42 }), note: "We used new bags." },
        { do: "answer", at: [4, "09:20"], set: "p2", by: "lead", judged: { "prop-low-back": "fix", "prop-apex-spot": "fix" }, summary: "Please stop. Priya lies on her LEFT, but the bags are under the ribs. They go under the low back, between the ribs and the hip bone.", ringOn: "prop-low-back" },
      ],
    }],
  },
  {
    name: "Vossler",
    guardian: { name: "Anouk Vossler", email: "anouk@families.example", phone: "01632 960106" },
    children: [
      {
        name: "Lena", bornIn: "2012-02", looks: 15,
        events: [
          ...started(45, DOUBLE("right")),
          { do: "send", at: [38, "17:40"], key: "l1", shots: both({ rolled: 0.8 }) },
          { do: "answer", at: [37, "12:10"], set: "l1", by: "lead", judged: { stacked: "fix" }, summary: "Lena lies on her LEFT. Her shoulders roll forward; stack them like books." },
          { do: "send", at: [6, "17:55"], key: "l2", shots: both({ rolled: 0.3, tilt: 5 }), note: "She says this feels steadier." },
        ],
      },
      {
        name: "Felix", bornIn: "2015-05", looks: 16,
        events: [
          ...started(14, LUMBAR("right")),
          { do: "send", at: [0, "08:05"], key: "f1", shots: [{ view: "behind", scene: { topArm: "on-hip", tilt: 3 } }], note: "First photo." },
        ],
      },
    ],
  },
  {
    name: "Amaru",
    guardian: { name: "Inti Amaru", email: "inti@families.example", phone: "01632 960107" },
    children: [{
      name: "Zuri", bornIn: "2012-12", looks: 19,
      events: [
        ...started(35, DOUBLE("left")),
        { do: "send", at: [29, "18:30"], key: "z1", shots: both() },
        { do: "answer", at: [28, "15:05"], set: "z1", by: "therapist", judged: {}, summary: "All in place, lying on the RIGHT." },
        { do: "symptom", at: [1, "18:50"], symptoms: ["night-pain", "pain-lasting"], note: "Her back woke her up twice this week." },
      ],
    }],
  },
  {
    name: "Quillon",
    guardian: { name: "Bea Quillon", email: "bea@families.example", phone: "01632 960108" },
    children: [{
      name: "Rowan", bornIn: "2013-10", looks: 22,
      events: [
        ...started(62, DOUBLE("right"), 85),
        { do: "send", at: [55, "18:00"], key: "r1", shots: both() },
        { do: "answer", at: [54, "10:00"], set: "r1", by: "lead", judged: {}, summary: "All in place, lying on the LEFT." },
        { do: "send", at: [41, "18:00"], key: "r2", shots: both() },
        { do: "answer", at: [40, "14:30"], set: "r2", by: "lead", judged: {}, summary: "All in place again, lying on the LEFT." },
        { do: "send", at: [13, "18:20"], key: "r3", shots: both({ topKneeBend: 45 }) },
        { do: "answer", at: [12, "11:15"], set: "r3", by: "lead", judged: { "top-leg-straight": "fix" }, summary: "On the LEFT, and the rest is in place. The top leg has crept into a bend: make it long again.", ringOn: "top-leg-straight" },
        { do: "asks", at: [0, "08:20"], key: "rq1", set: "r3", words: "How long should the top leg stay up in each breath?" },
      ],
    }],
  },
  {
    name: "Pellerin",
    guardian: { name: "Luc Pellerin", email: "luc@families.example", phone: "01632 960109" },
    children: [{
      name: "Caio", bornIn: "2011-06", looks: 25,
      events: [
        ...started(70, DOUBLE("right"), 60),
        { do: "send", at: [60, "19:00"], key: "c1", shots: both() },
        { do: "answer", at: [59, "13:45"], set: "c1", by: "therapist", judged: {}, summary: "All in place, lying on the LEFT." },
      ],
    }],
  },
  {
    name: "Tarnlund",
    guardian: { name: "Ylva Tarnlund", email: "ylva@families.example", phone: "01632 960111" },
    otherGuardian: { name: "Rafe Corrin", email: "rafe@families.example", phone: "01632 960112" },
    children: [{
      name: "Ansel", bornIn: "2009-10", looks: 31, self: { name: "Ansel Tarnlund", email: "ansel@families.example" },
      events: [
        ...started(24, DOUBLE("left")),
        { do: "send", at: [18, "19:15"], key: "a1", shots: breathing() },
        { do: "answer", at: [17, "11:40"], set: "a1", by: "therapist", judged: {}, summary: "All in place, lying on the RIGHT. Keep going like this." },
        { do: "send", at: [2, "18:40"], key: "a2", shots: breathing({ propCount: 1, tilt: -7, kneeBend: 80 }), note: "On the new mat." },
        { do: "asks-back", at: [1, "10:35"], set: "a2", by: "therapist", words: "I see one bag. Is the second one behind it, between the ribs and the hip bone?" },
      ],
    }],
  },
  {
    name: "Marsh-Odell",
    guardian: { name: "Elin Marsh-Odell", email: "elin@families.example", phone: "01632 960110" },
    children: [{ name: "Tove", bornIn: "2014-08", looks: 28, events: [] }],
  },
];
