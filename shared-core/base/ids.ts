/** Branded identifiers: nobody does arithmetic on them, and they never mix. */
export type SessionId = string & { readonly brand: 'SessionId' };
export type RigId = string & { readonly brand: 'RigId' };
export type RuleId = string & { readonly brand: 'RuleId' };

export function sessionId(text: string): SessionId {
  return text as SessionId;
}
export function rigId(text: string): RigId {
  return text as RigId;
}
export function ruleId(text: string): RuleId {
  return text as RuleId;
}
