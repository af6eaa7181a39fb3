// Short tones beside the words, only on a device that has sounds switched on: a scan taken, something
// refused, something booked. A tone never says what the page does not.
"use strict";

(function () {
  if (document.documentElement.dataset.sounds !== "on" || !window.AudioContext) { return; }
  // pitch [Hz] and length [s] of each tone, one after the other
  const TONES = {
    taken: [[880, 0.09]],
    refused: [[220, 0.16], [165, 0.2]],
    booked: [[660, 0.1], [880, 0.16]],
  };
  const LOUDNESS = 0.2;
  const RAMP_S = 0.01;
  let audio = null;

  function tone(pitch, from, length) {
    const wave = audio.createOscillator();
    const gain = audio.createGain();
    wave.frequency.value = pitch;
    gain.gain.setValueAtTime(0, from);
    gain.gain.linearRampToValueAtTime(LOUDNESS, from + RAMP_S);
    gain.gain.setValueAtTime(LOUDNESS, from + length - RAMP_S);
    gain.gain.linearRampToValueAtTime(0, from + length);
    wave.connect(gain).connect(audio.destination);
    wave.start(from);
    wave.stop(from + length);
  }

  // returns how long it takes [ms]; a browser that lets no page speak yet stays silent
  function play(kind) {
    audio = audio || new window.AudioContext();
    let at = audio.currentTime;
    const began = at;
    TONES[kind].forEach(function (one) {
      tone(one[0], at, one[1]);
      at += one[1];
    });
    document.documentElement.dataset.sounded = kind;
    return 1000 * (at - began);
  }

  document.addEventListener("collop:sound", function (event) {
    if (!TONES[event.detail.kind]) { return; }
    event.preventDefault();
    const length = play(event.detail.kind);
    if (event.detail.then) { window.setTimeout(event.detail.then, length); }
  });

  function soundOf(page) {
    const told = page.querySelector("[data-sound]");
    if (told) { return told.dataset.sound; }
    return page.querySelector(".problem, .notice.loud[role=alert]") ? "refused" : "";
  }

  const first = soundOf(document.getElementById("main") || document.body);
  if (TONES[first]) { play(first); }
}());
