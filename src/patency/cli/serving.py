"""``patency serve``."""

from __future__ import annotations

from pathlib import Path

import click

from patency.cli.answers import PatencyCommand
from patency.cli.progress import tell

_SEED = 20260512


@click.command("serve", cls=PatencyCommand, short_help="Open the bench in a browser.")
@click.option(
    "--in",
    "folder",
    default="out/bench",
    show_default=True,
    type=click.Path(file_okay=False, path_type=Path),
    help="Where department, plan, records and ledger are; a new folder gets the demo department.",
)
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen at.")
@click.option("--port", default=8470, show_default=True, type=click.IntRange(1, 65535), help="Port to listen at.")
def serve_command(folder: Path, host: str, port: int) -> None:
    """Serve the bench: the web application for the soiled side, the clean side, the releaser and the desk.

    The first start makes the demo department, invented and marked so, and prints a link that works once, to set up the
    first account. Serve other addresses than loopback only behind a server that speaks HTTPS.
    """
    from patency.bench import open_folder, serve, shifted_clock

    stands_at = None
    if not (folder / "plan.json").exists():
        import numpy as np

        from patency.demo import larkmere_texts, prepare_bench

        click.echo(f"Making the demo department in {folder}: planned, computed and drawn once, which takes minutes")
        stands_at = prepare_bench(folder, larkmere_texts(), np.random.default_rng(_SEED), tell)
        tell("")
    serve(open_folder(folder, shifted_clock(folder, stands_at)), host, port, click.echo)
