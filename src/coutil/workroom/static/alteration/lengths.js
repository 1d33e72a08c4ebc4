// Lengths in words where the page itself adds them up; everything else is worded by the program.

const SIXTEENTHS = 16;
const MM_PER_INCH = 25.4;

/** A length with its unit: millimetres and centimetres to a tenth, inches to the nearest sixteenth. */
export function inWords(mm, unit) {
  if (unit === "in") return `${inches(mm)} in`;
  return `${Number((mm / (unit === "cm" ? 10 : 1)).toFixed(1))} ${unit}`;
}

export function signed(mm, unit) {
  const words = inWords(mm, unit);
  return mm > 0 && !words.startsWith("0 ") ? `+${words}` : words;
}

function inches(mm) {
  const parts = Math.round((Math.abs(mm) / MM_PER_INCH) * SIXTEENTHS);
  const [whole, rest] = [Math.floor(parts / SIXTEENTHS), parts % SIXTEENTHS];
  const divisor = [8, 4, 2, 1].find((by) => rest % by === 0);
  const fraction = rest ? `${rest / divisor}/${SIXTEENTHS / divisor}` : "";
  const words = [whole || (fraction ? "" : "0"), fraction].filter((part) => part !== "").join(" ");
  return mm < 0 && parts ? `-${words}` : words;
}
