/** A worker for the readiness check alone: it answers once, to show that it runs. */
addEventListener("message", (event) => event.ports[0]?.postMessage(event.data));
