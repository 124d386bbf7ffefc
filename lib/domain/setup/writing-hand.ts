import type { Side } from "@/lib/domain/sides";

/** Where the hand a child writes with is while the child lies as the set-up says: `floor` side or `top`. */
export const handLies = (hand: Side, lieOn: Side): "floor" | "top" => (hand === lieOn ? "floor" : "top");
