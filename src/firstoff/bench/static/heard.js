// A recording in another form than .wav (phones make .m4a) is opened by this browser, and goes on as plain sound.
import { refused } from "./sending.js";

const RATE = 44100, LONGEST = 120;      // samples a second; seconds

export async function plain(file) {
  const head = String.fromCharCode(...new Uint8Array(await file.slice(0, 4).arrayBuffer()));
  if (head === "RIFF" || /\.(csv|txt)$/i.test(file.name)) return file;
  let sound;
  try {
    sound = await new OfflineAudioContext(1, 1, RATE).decodeAudioData(await file.arrayBuffer());
  } catch {
    throw refused(`this browser cannot open ${file.name}: let the recorder save a .wav, or type the frequency below`);
  }
  if (sound.duration > LONGEST) throw refused(`${file.name} lasts ${Math.round(sound.duration)} s (one sharp tap and what rings after it: at most ${LONGEST} s)`);
  return new File([wave(loudest(sound), sound.sampleRate)], `${file.name.replace(/\.[^.]*$/, "")}.wav`, { type: "audio/wav" });
}

function loudest(sound) {
  const all = Array.from({ length: sound.numberOfChannels }, (_, k) => sound.getChannelData(k));
  const loud = all.map((one) => one.reduce((sum, value) => sum + Math.abs(value), 0));
  return all[loud.indexOf(Math.max(...loud))];
}

// 16 bits, one channel.
function wave(samples, rate) {
  const bytes = new DataView(new ArrayBuffer(44 + 2 * samples.length));
  const text = (at, words) => [...words].forEach((sign, k) => bytes.setUint8(at + k, sign.charCodeAt(0)));
  text(0, "RIFF"); bytes.setUint32(4, 36 + 2 * samples.length, true); text(8, "WAVEfmt ");
  bytes.setUint32(16, 16, true); bytes.setUint16(20, 1, true); bytes.setUint16(22, 1, true);
  bytes.setUint32(24, rate, true); bytes.setUint32(28, 2 * rate, true); bytes.setUint16(32, 2, true); bytes.setUint16(34, 16, true);
  text(36, "data"); bytes.setUint32(40, 2 * samples.length, true);
  samples.forEach((value, k) => bytes.setInt16(44 + 2 * k, Math.max(-32768, Math.min(32767, Math.round(32767 * value))), true));
  return bytes;
}
