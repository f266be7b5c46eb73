# SPDX-License-Identifier: GPL-3.0-or-later
# Writes OUT, a C file that holds each rule set of FILES as a byte array, with a table of their names.
set(body "#include \"rules/shipped.h\"\n\n")
set(table "")
foreach(file IN LISTS FILES)
    get_filename_component(name "${file}" NAME_WE)
    file(READ "${file}" hex HEX)
    string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
    string(APPEND body "static const unsigned char ${name}_bytes[] = {${bytes}0x00};\n")
    string(APPEND table "    {\"${name}\", (const char *)${name}_bytes, sizeof ${name}_bytes - 1},\n")
endforeach()
string(APPEND body "\nconst struct pellet_shipped_rules pellet_shipped_rules[] = {\n${table}    {0, 0, 0},\n};\n")
file(WRITE "${OUT}" "${body}")
