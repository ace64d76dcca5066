/**
 * Text of bytes of unknown encoding: UTF-16 with its mark, UTF-8 with or without one, and Latin-1 where the bytes are
 * no UTF-8, as older controls and transfer programs write. The mark is no part of the text. Never fails. Runs in Node
 * and in a browser.
 */
export function decodeText(bytes: Uint8Array): string {
  const [first, second] = bytes;
  if (first === 0xff && second === 0xfe) return new TextDecoder("utf-16le").decode(bytes);
  if (first === 0xfe && second === 0xff) return new TextDecoder("utf-16be").decode(bytes);
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
  } catch {
    return latin1(bytes);
  }
}

/** Each byte is the character of its number. A decoder of that name would be Windows-1252 by the web's rules. */
function latin1(bytes: Uint8Array): string {
  let text = "";
  // Arguments of a call are limited in number, so the bytes go in pieces.
  for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
  return text;
}
