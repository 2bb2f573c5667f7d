// What page and worker tell each other.

export interface Ask { id: number; name: string; text: string; bytes?: Uint8Array<ArrayBuffer> }

export type Reply =
  | { ready: true }
  | { ended: string }
  | { id: number; ok: boolean; text: string; bytes?: Uint8Array<ArrayBuffer> };
