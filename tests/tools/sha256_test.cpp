// The examples that the standard's authors publish with it (csrc.nist.gov, Secure Hash Standard, examples with
// intermediate values: SHA256.pdf and SHA2_Additional.pdf). tests/tools/train_chain.py compares with Python's besides.
#include "tools/text/sha256.hpp"

#include <doctest/doctest.h>

#include <string>

TEST_CASE("the published examples of SHA-256") {
    using tools::sha256_hex;
    CHECK(sha256_hex("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    CHECK(sha256_hex("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq") ==
          "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    CHECK(sha256_hex("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    CHECK(sha256_hex("\xbd") == "68325720aabd7c82f30f554b313d0570c95accbb7dc4b5aae11204c08ffe732b");
    CHECK(sha256_hex("\xc9\x8c\x8e\x55") == "7abc22c0ae5af26ce93dbb94433a0e0b2e119d014f8e7f65bd56c61ccccd9504");
    // lengths about the end of a block
    CHECK(sha256_hex(std::string(55, '\0')) == "02779466cdec163811d078815c633f21901413081449002f24aa3e80f0b88ef7");
    CHECK(sha256_hex(std::string(56, '\0')) == "d4817aa5497628e7c77e6b606107042bbba3130888c5f47a375e6179be789fbb");
    CHECK(sha256_hex(std::string(57, '\0')) == "65a16cb7861335d5ace3c60718b5052e44660726da4cd13bb745381b235a1785");
    CHECK(sha256_hex(std::string(64, '\0')) == "f5a5fd42d16a20302798ef6ed309979b43003d2320d9f0e8ea9831a92759fb4b");
    CHECK(sha256_hex(std::string(1'000'000, 'a')) ==
          "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}
