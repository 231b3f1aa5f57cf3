#!/bin/sh
# Verifies one raw signature and reads one private key with OpenSSL:
#   with_openssl.sh PUBLIC.der INPUT SIGNATURE KEY.p8 PASSWORD_FILE
# Prints what OpenSSL says of the signature, then the private key's public half in hex.
set -eu
openssl pkeyutl -verify -rawin -pubin -keyform DER -inkey "$1" -in "$2" -sigfile "$3"
openssl pkey -inform DER -in "$4" -passin "file:$5" -pubout -outform DER | od -An -v -tx1 | tr -d ' \n'
echo
