"""Sends files with pynetdicom until every one is acknowledged, over as many associations as that takes.

Usage: send.py PORT FILE...   Prints the UID of each object whose status was success, as soon as it was.
"""

import sys
import time

import pydicom
from pynetdicom import AE, _config

_config.LOG_HANDLER_LEVEL = "none"
CAPTURE = "1.2.840.10008.5.1.4.1.1.7"


def main(port, files):
    waiting = [pydicom.dcmread(path) for path in files]
    entity = AE(ae_title="SENDER")
    entity.add_requested_context(CAPTURE)
    entity.acse_timeout = entity.dimse_timeout = entity.network_timeout = 10
    deadline = time.monotonic() + 120
    while waiting and time.monotonic() < deadline:
        association = entity.associate("127.0.0.1", port, ae_title="BRIMLINE")
        while association.is_established and waiting:
            try:
                answer = association.send_c_store(waiting[0])
            except (RuntimeError, ValueError):
                break
            if answer and answer.Status == 0:
                print(waiting.pop(0).SOPInstanceUID, flush=True)
            else:
                break
        if association.is_established:
            association.release()
        elif waiting:
            time.sleep(0.05)
    return 1 if waiting else 0


sys.exit(main(int(sys.argv[1]), sys.argv[2:]))
