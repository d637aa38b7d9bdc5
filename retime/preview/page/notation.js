// Times and lengths as the trade writes them.
const notation = (() => {
  const two = (number) => String(number).padStart(2, "0");

  // h:mm:ss.t or m:ss.t, rounded to a tenth once, so that no field can show 60.
  function time(seconds) {
    const tenths = Math.round(seconds * 10);
    const whole = Math.floor(tenths / 10);
    const [hours, minutes] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60];
    const rest = `${two(whole % 60)}.${tenths % 10}`;
    return hours ? `${hours}:${two(minutes)}:${rest}` : `${minutes}:${rest}`;
  }

  const runtime = (frames, speed) => time((frames * speed.den) / speed.num);

  // Each foot begins with its first whole frame.
  function feet(frame) {
    const { num, den } = fractions.perFoot;
    const first = (foot) => Math.ceil((foot * num) / den);
    let foot = Math.floor((frame * den) / num);
    if (first(foot + 1) <= frame) foot += 1;
    return `${foot}+${two(frame - first(foot))}`;
  }

  const count = (number, one, many = `${one}s`) => `${number} ${number === 1 ? one : many}`;

  function listed(words, last = "and") {
    if (words.length < 2) return words.join("");
    return `${words.slice(0, -1).join(", ")} ${last} ${words[words.length - 1]}`;
  }

  return { time, runtime, feet, count, listed };
})();
