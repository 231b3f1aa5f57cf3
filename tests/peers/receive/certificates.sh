#!/bin/sh
# Makes an authority, and by it a certificate for the receiver and one for a sender: certificates.sh FOLDER
set -eu
cd "$1"
openssl req -x509 -newkey rsa:2048 -nodes -keyout ca.key -out ca.pem -days 2 -subj "/CN=Example authority" 2>/dev/null
for name in receiver sender; do
    openssl req -newkey rsa:2048 -nodes -keyout "$name.key" -out "$name.csr" -subj "/CN=localhost" 2>/dev/null
    printf 'subjectAltName=DNS:localhost\nbasicConstraints=CA:FALSE\n' >"$name.ext"
    openssl x509 -req -in "$name.csr" -CA ca.pem -CAkey ca.key -CAcreateserial -days 2 -extfile "$name.ext" \
        -out "$name.pem" 2>/dev/null
done
