// The planning board: draws a place and shows the answers of the program that serves it.
const start = await (await fetch("start")).json();
document.querySelector("main").textContent = start.plan ? start.plan.name : "";
