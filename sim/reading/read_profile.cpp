#include <array>
#include <filesystem>

#include "proto/crc_catalogue.hpp"
#include "sim/reading/file_kind.hpp"
#include "sim/reading/parts.hpp"
#include "sim/reading/read.hpp"

namespace sim {
namespace {

using proto::Presence;
using proto::ProfileFault;

std::optional<Presence> read_presence(Section& section, std::string_view key) {
    return section.choice<Presence>(
        key, {{"carried", Presence::carried}, {"implied", Presence::implied}, {"absent", Presence::absent}});
}

proto::Field read_field(Section& top, std::string_view key) {
    proto::Field field;
    std::optional<Section> section = top.table(key);
    if (!section) return field;
    field.presence = read_presence(*section, "presence").value_or(Presence::absent);
    if (!section->node().find("presence")) section->missing("presence", R"("carried", "implied" or "absent")");
    if (const auto bits = section->integer("bits", 0, 32)) field.bits = static_cast<unsigned>(*bits);
    if (!section->node().find("bits") && field.presence != Presence::absent) section->missing("bits", "16");
    section->finish();
    return field;
}

void read_crc_by_name(Section& top, const std::string& name, proto::Profile& profile) {
    if (name == "none") {
        top.say("crc", R"("none" exists only in the comparison of measures; write a CRC, such as "CRC-32/ISCSI")");
        return;
    }
    const proto::NamedCrc* found = proto::find_crc(name);
    if (found == nullptr) {
        top.say("crc", in_quotes(name) + " is no known CRC; nearest is \"" +
                           std::string(proto::nearest_crc_name(name.substr(0, 100))) + "\"");
        return;
    }
    profile.crc = found->spec;
    profile.crc_name = name;
}

void read_crc_by_parameters(Section section, proto::Profile& profile) {
    proto::CrcSpec crc;
    const auto width = section.integer("width", 8, 64);
    if (!section.node().find("width")) section.missing("width", "32");
    crc.width = static_cast<unsigned>(width.value_or(32));
    const std::uint64_t largest = crc.width == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << crc.width) - 1;
    const auto polynomial = section.hex("polynomial", largest);
    if (!section.node().find("polynomial")) section.missing("polynomial", "\"0xF4ACFB13\"");
    crc.polynomial = polynomial.value_or(1);
    crc.initial = section.hex("initial", largest).value_or(0);
    crc.reflect_in = section.flag("reflect_in").value_or(false);
    crc.reflect_out = section.flag("reflect_out").value_or(crc.reflect_in);
    crc.final_xor = section.hex("final_xor", largest).value_or(0);
    section.finish();
    if ((crc.polynomial & 1U) == 0) {
        section.say("polynomial", written_hex(crc.polynomial, 1) +
                                      " is even, so some single bits would go unseen; write it without its leading "
                                      "term, with the lowest bit set");
    }
    profile.crc = crc;
}

void read_crc(Section& top, proto::Profile& profile) {
    const Node* node = top.find("crc");
    std::vector<std::string> names;
    for (const proto::NamedCrc& named : proto::crc_catalogue()) names.emplace_back(named.name);
    holds(top, "crc", KeyShape::choice(names));
    if (node == nullptr) {
        top.missing("crc", R"("CRC-32/ISCSI", or { width = 32, polynomial = "0xF4ACFB13" })");
    } else if (node->kind == Node::Kind::text) {
        read_crc_by_name(top, node->text, profile);
    } else if (node->kind == Node::Kind::table) {
        read_crc_by_parameters(*top.table("crc"), profile);
    } else {
        top.say("crc",
                "is neither a name nor a table; write \"CRC-32/ISCSI\", or "
                "{ width = 32, polynomial = \"0xF4ACFB13\" }");
    }
}

void say_fault(Section& top, ProfileFault fault) {
    switch (fault) {
        case ProfileFault::address_width:
            return top.say("address", "presence and bits contradict each other; write 1 to 32 bits, or \"absent\"");
        case ProfileFault::sequence_width:
            return top.say("sequence", "presence and bits contradict each other; write 1 to 32 bits, or \"absent\"");
        case ProfileFault::feedback_alone:
            return top.say("feedback", "there is no sequence number to feed back; give the profile one");
        case ProfileFault::time_stamp_width: return top.say("time_stamp.bits", "is not 8 to 32; write 16");
        case ProfileFault::time_stamp_unit: return top.say("time_stamp.unit", "is not positive; write \"0.1 ms\"");
        case ProfileFault::payload_length: return top.say("payload", "is not 1 to 250; write 8");
        case ProfileFault::crc_parameters:
            return top.say("crc", "these parameters are no CRC; check width and polynomial");
        case ProfileFault::crc_missing: return top.say("crc", "is missing; write crc = \"CRC-32/ISCSI\"");
        case ProfileFault::copies: return top.say("copies", "is neither 1 nor 2; write 1");
        case ProfileFault::too_long:
            return top.say("payload", "the telegram would have over " + std::to_string(proto::telegram_bytes_max) +
                                          " bytes, all copies together; write a shorter payload or one copy");
        case ProfileFault::loop_back_unseen:
            return top.say("direction", "nothing tells a sender's own telegram from its peer's; write \"carried\"");
    }
}

}  // namespace

void read_profile_keys(Section& top, const std::string& path, proto::Profile& profile) {
    profile.name = top.text("name").value_or(std::filesystem::path(path).stem().string());
    static_cast<void>(top.text("shows"));
    profile.address = read_field(top, "address");
    profile.sequence = read_field(top, "sequence");
    profile.direction = read_presence(top, "direction").value_or(Presence::carried);
    profile.feedback = top.flag("feedback").value_or(false);
    if (std::optional<Section> stamp = top.table("time_stamp")) {
        profile.time_stamp_bits = static_cast<unsigned>(stamp->integer("bits", 8, 32).value_or(16));
        if (!stamp->node().find("bits")) stamp->missing("bits", "16");
        profile.time_stamp_unit =
            stamp->duration("unit", Section::Zero::refused, proto::seconds(1)).value_or(proto::microseconds(100));
        profile.time_stamp_kind = stamp
                                      ->choice<proto::StampKind>("kind", {{"echo", proto::StampKind::echo},
                                                                          {"clock", proto::StampKind::clock}})
                                      .value_or(proto::StampKind::echo);
        stamp->finish();
    }
    profile.payload_bytes = static_cast<unsigned>(top.integer("payload", 1, proto::payload_bytes_max).value_or(8));
    read_crc(top, profile);
    profile.zero_as_one = top.flag("zero_as_one").value_or(false);
    profile.copies = static_cast<unsigned>(top.integer("copies", 1, 2).value_or(1));
    top.finish();
    if (top.problems().any()) return;
    if (const auto layout = proto::layout_of(profile, profile.payload_bytes); !layout) say_fault(top, layout.error());
    if (profile.direction == Presence::absent && profile.address.presence == Presence::absent) {
        say_fault(top, ProfileFault::loop_back_unseen);
    }
}

FileKind kind_of_tree(const Node& root) {
    if (root.find("story") != nullptr) return FileKind::drill;
    if (root.find("card") != nullptr) return FileKind::action_cards;
    for (const char* key : {"link", "controller", "device", "duration", "fault", "signal"}) {
        if (root.find(key) != nullptr) return FileKind::scenario;
    }
    for (const char* key : {"crc", "sequence", "address", "copies"}) {
        if (root.find(key) != nullptr) return FileKind::profile;
    }
    for (const char* key : {"to_device", "to_controller", "field"}) {
        if (root.find(key) != nullptr) return FileKind::module;
    }
    return FileKind::scenario;
}

namespace {

using Document = proto::Result<Node, FileError>;

proto::Result<FileKind, FileError> kind_of(const Document& document) {
    if (!document) return document.error();
    return kind_of_tree(document.value());
}

proto::Result<proto::Profile, FileError> profile_from(const Document& document, const std::string& path) {
    if (!document) return document.error();
    Problems problems(path);
    Section top(document.value(), "", problems);
    proto::Profile profile;
    read_profile_keys(top, path, profile);
    if (problems.any()) return problems.first();
    return profile;
}

}  // namespace

proto::Result<FileKind, FileError> kind_of_file(const std::string& path) { return kind_of(read_document(path)); }

proto::Result<FileKind, FileError> kind_of_text(const std::string& text, const std::string& path) {
    return kind_of(document_from(text, path));
}

proto::Result<proto::Profile, FileError> read_profile(const std::string& path) {
    return profile_from(read_document(path), path);
}

proto::Result<proto::Profile, FileError> profile_in(const std::string& text, const std::string& path) {
    return profile_from(document_from(text, path), path);
}

}  // namespace sim
