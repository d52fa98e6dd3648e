"""Each command's own parser beside the parser of all."""

from tissue.command.command import COMMANDS, parser


def choices(of):
    return of._subparsers._group_actions[0].choices


def test_the_parser_of_one_command_says_what_it_says_among_all():
    everything = choices(parser())
    assert list(everything) == list(COMMANDS) and "plan" in everything
    for name, one in everything.items():
        alone = choices(parser(name))
        assert alone[name].format_help() == one.format_help() and parser(name).format_usage() == parser().format_usage()
    assert list(choices(parser("plan"))) == ["plan"] and list(choices(parser("no such command"))) == list(COMMANDS)
