import { sign } from "@/lib/domain/installed/sign";

export const contentType = "image/svg+xml";

export default function Icon(): Response {
  return new Response(sign("rounded"), { headers: { "Content-Type": contentType } });
}
