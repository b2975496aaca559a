using CashEvents.Api.Movements;
using FluentValidation;

namespace CashEvents.Api.Rehearsals;

/// <summary>What would be if some things were written.</summary>
/// <param name="Suppose">1 to 100 things, supposed one after another.</param>
public sealed record RehearsalRequest(IReadOnlyList<SuppositionRequest>? Suppose);

/// <summary>One thing to suppose: a line reversed, a line amended, or a movement recorded.</summary>
/// <param name="Reverse">Number of a line to reverse.</param>
/// <param name="Amend">Number of a line to amend, with its replacement.</param>
/// <param name="Replacement">The right movement, with its <c>kind</c>.</param>
/// <param name="Record">A movement to record, with its <c>kind</c>.</param>
public sealed record SuppositionRequest(long? Reverse, long? Amend, MovementRequest? Replacement, MovementRequest? Record);

internal sealed class RehearsalRequestValidator : AbstractValidator<RehearsalRequest>
{
    public const int MostSuppositions = 100;

    public RehearsalRequestValidator()
    {
        var needed = $"`suppose` lists 1 to {MostSuppositions} things, such as {{\"reverse\": 12}}.";
        RuleFor(r => r.Suppose)
            .NotNull().WithMessage(needed)
            .Must(s => s is { Count: > 0 and <= MostSuppositions }).WithMessage(needed)
            .Custom((suppose, context) =>
            {
                for (var i = 0; i < suppose!.Count; i++)
                {
                    if (!IsOne(suppose[i]))
                    {
                        context.AddFailure($"suppose[{i}]", "Suppose one thing at a time: {\"reverse\": 12}, or {\"amend\": 12, \"replacement\": {\"kind\": \"spend\", ...}}, or {\"record\": {\"kind\": \"spend\", ...}}.");
                    }
                }
            });
    }

    private static bool IsOne(SuppositionRequest? supposed) => supposed switch
    {
        { Reverse: not null, Amend: null, Replacement: null, Record: null } => true,
        { Reverse: null, Amend: not null, Replacement: not null, Record: null } => true,
        { Reverse: null, Amend: null, Replacement: null, Record: not null } => true,
        _ => false,
    };
}
