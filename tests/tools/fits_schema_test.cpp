// Documents beside their schemas; what the schemas say is compared with another validator by schema.sh, bent documents
// are in report_mutations.py.
#include "tools/report/fits_schema.hpp"

#include <doctest/doctest.h>

#include <string>

#include "tools/text/json.hpp"

namespace {

std::string said(const std::string& document, const std::string& schema) {
    const auto read = tools::from_json(document), asked = tools::from_json(schema);
    REQUIRE(read.ok());
    REQUIRE(asked.ok());
    const auto wrong = tools::misfit(read.value(), asked.value());
    return wrong ? wrong->key + ": " + wrong->why : "";
}

}  // namespace

TEST_CASE("a document fits its schema, or the place and what is expected there are named") {
    const std::string schema = R"({"type": "object", "title": "t", "required": ["a"], "additionalProperties": false,
        "properties": {"a": {"type": "array", "maxItems": 3, "items": {"type": "object", "properties": {
            "n": {"type": ["integer", "null"], "minimum": 0, "maximum": 7},
            "p": {"type": "number", "exclusiveMinimum": 0},
            "h": {"type": "string", "pattern": "^0x[0-9A-F]+$"},
            "e": {"enum": ["on", "off", null, 3]}}}},
            "more": {"type": "object", "additionalProperties": {"type": "boolean"}}}})";
    CHECK(said(R"({"a": []})", schema).empty());
    CHECK(said(R"({"a": [{"n": 7, "p": 0.1, "h": "0x1F", "e": "on"}, {"n": null, "e": null}, {"n": 5.0, "e": 3}]})",
               schema)
              .empty());
    CHECK(said(R"({"a": [], "more": {"x": true, "y": false}})", schema).empty());

    CHECK(said("[]", schema) == ": is a list, not of type object");
    CHECK(said("{}", schema) == ": lacks \"a\"");
    CHECK(said(R"({"a": [], "b": 1})", schema) == ": has a key that there is not: \"b\"");
    CHECK(said(R"({"a": [{}, {}, {}, {}]})", schema) == "a: has more than 3 items");
    CHECK(said(R"({"a": [{}, 4]})", schema) == "a[1]: is 4, not of type object");
    CHECK(said(R"({"a": [{"n": "x"}]})", schema) == "a[0].n: is \"x\", not of type integer or null");
    CHECK(said(R"({"a": [{"n": 1.5}]})", schema) == "a[0].n: is 1.5, not of type integer or null");
    CHECK(said(R"({"a": [{"n": -1}]})", schema) == "a[0].n: is -1, out of range");
    CHECK(said(R"({"a": [{"n": 8}]})", schema) == "a[0].n: is 8, out of range");
    CHECK(said(R"({"a": [{"p": 0}]})", schema) == "a[0].p: is 0, out of range");
    CHECK(said(R"({"a": [{"h": "0x1f"}]})", schema) == "a[0].h: is \"0x1f\", not as ^0x[0-9A-F]+$");
    CHECK(said(R"({"a": [{"e": ""}]})", schema) == "a[0].e: is \"\", none of the values that there are");
    CHECK(said(R"({"a": [], "more": {"x": 1}})", schema) == "more.x: is 1, not of type boolean");
}
