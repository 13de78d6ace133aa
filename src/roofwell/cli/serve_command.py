"""``roofwell serve``: the page, for this machine alone unless the owner says otherwise."""

from __future__ import annotations

import argparse
import gc
import ipaddress
import logging
import secrets
import socket
import threading
import webbrowser

import uvicorn
from platformdirs import user_data_path

from roofwell.errors import InputError
from roofwell.store import open_store
from roofwell.web import Gate, make_app
from roofwell.web.demo import with_demo

LOOPBACK = "127.0.0.1"
MOST_AT_ONCE = 100  # connections; a crew has some ten devices, a browser keeps up to six open


def run(options: argparse.Namespace) -> int:
    """Serve until Ctrl-C."""
    if (options.certificate is None) != (options.certificate_key is None):
        raise InputError("--certificate and --certificate-key go together", code="certificate")
    address = _address(options.lan)
    listening = _listen(address, options.port)
    port = listening.getsockname()[1]
    secure = options.certificate is not None
    gate = Gate(_hosts(address, port), key=secrets.token_urlsafe(9) if options.lan else None, secure=secure)
    store = open_store(options.store or str(user_data_path("roofwell") / "jobs.sqlite"))
    demo = with_demo(store)
    url = f"{'https' if secure else 'http'}://{address}:{port}/"
    print(f"Roofwell is open at {url}  (Ctrl-C ends it)")
    if gate.key is not None:
        print(f"Access key, asked for once on each device: {gate.key}")
        if not secure:
            print(
                "Without a certificate everybody on this network can read along, and a phone cannot reload the page"
            )
            print("where there is no signal.")
    config = uvicorn.Config(
        make_app(store, gate),
        log_level=logging.WARNING,
        access_log=False,
        server_header=False,
        proxy_headers=False,
        limit_concurrency=MOST_AT_ONCE,
        ssl_certfile=options.certificate,
        ssl_keyfile=options.certificate_key,
    )
    if not options.no_browser:
        threading.Timer(0.5, webbrowser.open, [f"{url}#/jobs/{demo}" if demo else url]).start()
    gc.freeze()  # what is loaded stays; what requests leave behind is collected, or an edit costs a third of a megabyte
    gc.set_threshold(50_000, 20, 50)  # seldom enough that no edit waits for it
    gc.enable()
    uvicorn.Server(config).run(sockets=[listening])
    return 0


def _address(lan: str | None) -> str:
    if lan is None:
        return LOOPBACK
    try:
        address = ipaddress.ip_address(lan)
    except ValueError:
        raise InputError(
            f'--lan "{lan[:60]}": give the address of this machine on the network, such as 192.168.1.20',
            code="lan",
        ) from None
    if address.version != 4 or address.is_unspecified or address.is_multicast:
        raise InputError(f"--lan {address}: give one IPv4 address of this machine", code="lan")
    return str(address)


def _listen(address: str, port: int) -> socket.socket:
    if not 0 <= port <= 65535:
        raise InputError(f"--port {port}: a port is a number from 0 to 65535", code="port")
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((address, port))
    except OSError as error:
        listening.close()
        raise InputError(
            f"cannot listen at {address}:{port}: {error.strerror}; is Roofwell open already? Another port: --port 0",
            code="port",
        ) from None
    return listening


def _hosts(address: str, port: int) -> frozenset[str]:
    names = [address, "localhost"] if address == LOOPBACK else [address]
    return frozenset(f"{name}:{port}" for name in names)
