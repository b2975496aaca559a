using System.Reflection;
using System.Text.Json;
using FluentValidation;

namespace CashEvents.Api.Http;

/// <summary>A request's JSON body, read and checked for its form; faults name the field and the mend.</summary>
/// <typeparam name="T">The form asked for.</typeparam>
/// <param name="Value">What was sent.</param>
public sealed record Body<T>(T Value) where T : class
{
#pragma warning disable CA1000 // ASP.NET Core looks for this method on the parameter's own type.
    /// <summary>Reads and checks the body.</summary>
    /// <exception cref="MalformedException">It is no JSON, or not of this form.</exception>
    public static async ValueTask<Body<T>?> BindAsync(HttpContext context, ParameterInfo parameter)
    {
        _ = parameter;
        return new Body<T>(await ReadAsync(context).ConfigureAwait(false));
    }

    /// <summary>Reads and checks the body of a request that takes some parameters too.</summary>
    /// <exception cref="MalformedException">It is no JSON, or not of this form.</exception>
    internal static async Task<T> ReadAsync(HttpContext context, params string[] parameters)
    {
        Reads.OnlyTakes(context, parameters);
        if (!context.Request.HasJsonContentType())
        {
            throw new MalformedException("Content-Type", JsonFaults.SendJson);
        }

        MustBeUtf8(context.Request);

        // Read to its end first: a body that is too large is refused as that, whatever else is the matter with it.
        using var sent = new MemoryStream();
        await context.Request.Body.CopyToAsync(sent, context.RequestAborted).ConfigureAwait(false);
        var value = Read(sent);
        if (value is null)
        {
            throw new MalformedException("$", "The body is `null`: send a JSON object.");
        }

        Validation.Check(context.RequestServices, value);
        return value;
    }
#pragma warning restore CA1000

    // JSON is UTF-8 (RFC 8259, section 8.1), of which ASCII is a part.
    private static void MustBeUtf8(HttpRequest request)
    {
        if (request.GetTypedHeaders().ContentType?.Charset.ToString().Trim('"') is { Length: > 0 } charset
            && !charset.Equals("utf-8", StringComparison.OrdinalIgnoreCase)
            && !charset.Equals("us-ascii", StringComparison.OrdinalIgnoreCase))
        {
            throw new MalformedException("Content-Type",
                $"The body is declared as {charset}, and JSON is always UTF-8: send it as UTF-8, with the header "
                    + "`Content-Type: application/json`.");
        }
    }

    private static T? Read(MemoryStream sent)
    {
        sent.Position = 0;
        try
        {
            return JsonSerializer.Deserialize<T>(sent, ApiJson.Options);
        }
        catch (Exception fault) when (fault is JsonException or NotSupportedException)
        {
            // The one that is no JSON exception is about a movement that does not say which it is.
            throw JsonFaults.Explain(typeof(T), sent.GetBuffer().AsSpan(0, (int)sent.Length));
        }
    }
}

/// <summary>FluentValidation in this API's words.</summary>
internal static class Validation
{
    /// <summary>Refuses a value whose form does not pass the validator of its own type, if there is one.</summary>
    public static void Check(IServiceProvider services, object value)
    {
        if (services.GetService(typeof(IValidator<>).MakeGenericType(value.GetType())) is IValidator validator
            && validator.Validate(new ValidationContext<object>(value)) is { IsValid: false } result)
        {
            throw new MalformedException(result.Errors
                .GroupBy(e => Path(e.PropertyName))
                .ToDictionary(g => g.Key, g => g.Select(e => e.ErrorMessage).ToArray()));
        }
    }

    /// <summary>
    /// Refuses a movement within another request whose form does not pass; faults are named from there.
    /// </summary>
    public static void CheckWithin(IServiceProvider services, MovementRequest movement, string part)
    {
        CheckWithin(services, (object)movement, part);
        if (movement.IdempotencyKey is not null)
        {
            throw new MalformedException($"{part}.idempotencyKey",
                $"`{part}` is a part of this request and has no idempotency key of its own: leave it out.");
        }
    }

    /// <summary>Refuses a part of a request whose form does not pass; faults are named from there.</summary>
    public static void CheckWithin(IServiceProvider services, object sent, string part)
    {
        try
        {
            Check(services, sent);
        }
        catch (MalformedException faults)
        {
            throw new MalformedException(faults.Errors.ToDictionary(e => $"{part}.{e.Key}", e => e.Value));
        }
    }

    private static string Path(string property) =>
        string.Join('.', property.Split('.').Select(JsonNamingPolicy.CamelCase.ConvertName));
}
