import type { Metadata } from "next";
import { AddressForms, type AddressQuery } from "@/app/address/address-forms";
import { FamilyFrame } from "@/app/family/frame";
import { readerNow, signedIn } from "@/lib/access/session";
import { say } from "@/lib/messages/say";

export const generateMetadata = async (): Promise<Metadata> => ({ title: say("address", await readerNow())("title") });

export default async function AddressPage({ searchParams }: { readonly searchParams: Promise<AddressQuery> }) {
  return <FamilyFrame current="account"><AddressForms actor={await signedIn()} query={await searchParams} /></FamilyFrame>;
}
