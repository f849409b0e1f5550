// Drawing a signature; without a script, or by keyboard, the typed name stands by itself.
"use strict";

(() => {
  const PEN = 2.2;
  const NEAR = 1.5; // pixels; points closer than this to the last one say nothing new

  function prepare(pad) {
    const field = document.getElementById(pad.dataset.signs);
    const canvas = pad.querySelector("canvas");
    const pen = canvas.getContext("2d");
    const strokes = [];
    pad.hidden = false;

    function fit() {
      const sharp = window.devicePixelRatio || 1;
      canvas.width = canvas.clientWidth * sharp;
      canvas.height = canvas.clientHeight * sharp;
      pen.scale(sharp, sharp);
      draw();
    }

    function draw() {
      pen.clearRect(0, 0, canvas.clientWidth, canvas.clientHeight);
      pen.lineWidth = PEN;
      pen.lineCap = pen.lineJoin = "round";
      pen.strokeStyle = getComputedStyle(canvas).color;
      for (const stroke of strokes) {
        pen.beginPath();
        pen.moveTo(...stroke[0]);
        for (const point of stroke) pen.lineTo(...point);
        pen.stroke();
      }
    }

    function place(event) {
      const box = canvas.getBoundingClientRect();
      const round = (number) => Math.round(number * 10) / 10;
      return [round(event.clientX - box.left), round(event.clientY - box.top)];
    }

    function add(event) {
      const stroke = strokes[strokes.length - 1];
      const [x, y] = place(event);
      const [lastX, lastY] = stroke[stroke.length - 1];
      if (Math.hypot(x - lastX, y - lastY) < NEAR) return;
      stroke.push([x, y]);
      draw();
    }

    canvas.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      canvas.setPointerCapture(event.pointerId);
      strokes.push([place(event)]);
      draw();
    });
    canvas.addEventListener("pointermove", (event) => {
      if (canvas.hasPointerCapture(event.pointerId)) add(event);
    });
    canvas.addEventListener("pointerup", () => {
      field.value = JSON.stringify(strokes);
    });
    pad.querySelector("button").addEventListener("click", () => {
      strokes.length = 0;
      field.value = "";
      draw();
    });
    if (field.value) {
      try {
        strokes.push(...JSON.parse(field.value));
      } catch {
        field.value = "";
      }
    }
    fit();
    window.addEventListener("resize", fit);
  }

  for (const pad of document.querySelectorAll("[data-signs]")) prepare(pad);
})();
